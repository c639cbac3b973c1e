// What came home: plants, source, use; one screen for an evening's arrival and for the first minutes of an
// empty room. Rows are filled by typing or from a pasted list.
import { useEffect, useRef, useState } from 'preact/hooks';
import { client, settle, type Use } from '../api';
import type { components } from '../../build/api';
import { CheckField, ChoiceField, Form, LongField, NumberField, readNumber, SelectField, TextField, type Problems } from '../parts/form';
import { useNames, usePlaces } from '../parts/pick';
import { PhotoButton } from '../parts/photos';
import { Heading, Shown } from '../parts/screen';
import { moment, newId, nowMs, type Draft } from '../record/event';
import { dataUrl } from '../record/photo';
import { useRecord } from '../record/use';
import { go } from '../router';
import { photos as P } from '../strings/photos.en';
import { tell as T } from '../strings/tell.en';
import { triage as D } from '../strings/triage.en';
import { S, t, tn } from '../strings.en';

const A = T.arrive;
type Names = components['schemas']['Names'];
type Places = components['schemas']['Places']['places'];
const MATERIAL = new Set(['mix_bagged', 'mix_open', 'leaf_litter', 'wood', 'culture']);

interface Row {
  key: string;
  name: string;
  count: string;
  form: string; // '': as the others
  use: Use | '';
  cost?: string;
}
const emptyRow = (): Row => ({ key: newId(), name: '', count: '1', form: '', use: '', cost: '' });

interface Typed {
  rows: Row[];
  source: string;
  kind: string;
  hasAnimals: boolean;
  use: Use;
  form: string;
  label: string;
  isClean: boolean;
  place: string;
  takeBack?: string; // days
}
const KEPT = 'fernlock.arrive';

/** What was typed stays through a reload until it is recorded. */
function typedBefore(): Typed | undefined {
  try {
    const kept = sessionStorage.getItem(KEPT);
    return kept ? (JSON.parse(kept) as Typed) : undefined;
  } catch {
    return undefined;
  }
}

const sameText = (a: string, b: string) => a.trim().toLowerCase() === b.trim().toLowerCase();

/** The plant of a typed name: one that is known to the room, or one that is added with this arrival. */
function plantOf(name: string, names: Names, made: Map<string, string>, drafts: Draft[]): string {
  const key = name.trim().toLowerCase();
  const known = names.plants.find((plant) => sameText(plant.name, name) || (plant.taxon !== null && sameText(plant.taxon, name)));
  const id = known?.id ?? made.get(key);
  if (id) return id;
  const plant = newId();
  const row = names.known_plants.find((one) => sameText(one.botanical_name, name) || (one.common_name !== null && sameText(one.common_name, name)));
  drafts.push({ kind: 'plant_set', body: { plant, name: name.trim(), taxon: row?.botanical_name } });
  made.set(key, plant);
  return plant;
}

/** Photos taken of the rows, by their key: bytes that no storage of the browser holds until they are told. */
type Pictures = Readonly<Record<string, { bytes: ArrayBuffer; url: string }>>;

function draftsOf(typed: Typed, names: Names, places: Places, arrival: string, pictures: Pictures): Draft[] {
  const drafts: Draft[] = [];
  const photos: Draft[] = [];
  const made = new Map<string, string>();
  const known = names.sources.find((one) => sameText(one.name, typed.source));
  const source = known?.id ?? newId();
  const days = readNumber(typed.takeBack ?? '').value;
  if (!known) {
    drafts.push({ kind: 'source_set', body: { source, name: typed.source.trim(), kind: typed.kind, has_animals_with_plants: typed.hasAnimals, take_back_days: days } });
  }
  let place = places.find((one) => one.id === typed.place)?.id ?? places.find((one) => one.kind === 'bench')?.id;
  if (!place) {
    place = newId();
    drafts.push({ kind: 'place_set', body: { place, name: A.bench, kind: 'bench' } });
  }
  for (const row of typed.rows.filter((one) => one.name.trim())) {
    const form = row.form || typed.form;
    const isMaterial = MATERIAL.has(form);
    const lot = newId();
    const picture = pictures[row.key];
    if (picture) photos.push({ kind: 'photo_attached', body: { subject: lot }, photo: picture.bytes });
    drafts.push({
      kind: 'lot_arrived',
      body: {
        lot, arrival, source, form, place,
        plant: isMaterial ? undefined : plantOf(row.name, names, made, drafts),
        name: isMaterial ? row.name.trim() : undefined,
        count: readNumber(row.count).value ?? 1,
        use: row.use || typed.use,
        label_active: typed.label.trim(),
        is_label_clean: typed.isClean || undefined,
        cost: readNumber(row.cost ?? '').value,
        take_back_days: known && days !== known.take_back_days ? days : undefined,
      },
    });
  }
  // Everything has to be named before it is mentioned, and one moment holds them all.
  const at = moment(nowMs());
  return [...drafts.filter((one) => one.kind !== 'lot_arrived'), ...drafts.filter((one) => one.kind === 'lot_arrived'), ...photos].map((one) => ({ ...one, occurredAt: at }));
}

function problemsOf(typed: Typed): Problems {
  const rows = typed.rows.filter((row) => row.name.trim());
  const problems: Record<string, string | undefined> = {};
  if (rows.length === 0) problems['name0'] = A.missing;
  if (!typed.source.trim()) problems['source'] = A.missingSource;
  problems['takeBack'] = readNumber(typed.takeBack ?? '', { least: 1, most: 3650, isWhole: true }).problem;
  for (const row of rows) {
    const { value, problem } = readNumber(row.count, { least: 1, most: 1_000_000, isWhole: true });
    problems[`cost${row.key}`] = readNumber(row.cost ?? '', { least: 0, most: 1_000_000 }).problem;
    problems[`count${row.key}`] = problem ?? (value === undefined ? t(S.recording.form.missing, { what: A.count.toLowerCase() }) : undefined);
  }
  return problems;
}

function Paste({ onRows }: { onRows: (rows: Row[]) => void }) {
  const [text, setText] = useState('');
  const [problem, setProblem] = useState('');
  const read = async () => {
    const body = { id: newId(), occurred_at: moment(nowMs()), text: `${A.bench}:\n${text}`, is_preview: true };
    const answer = await settle(client.POST('/api/v1/already-here', { body }));
    if ('trouble' in answer) {
      setProblem(answer.trouble.status === 0 ? S.unreachable : answer.trouble.detail || answer.trouble.title);
      return;
    }
    const [bad] = answer.data.troubles;
    setProblem(bad ? t(A.notRead, { line: bad.line - 1, text: bad.text }) : '');
    if (!bad) {
      onRows(answer.data.lots.map((lot) => ({ ...emptyRow(), name: lot.plant, count: String(lot.count) })));
      setText('');
    }
  };
  return (
    <details>
      <summary>{A.list}</summary>
      <LongField label={A.list} hint={A.listHint} value={text} onValue={setText} problem={problem} />
      <button type="button" onClick={() => void read()}>{A.read}</button>
    </details>
  );
}

interface RowsProps {
  typed: Typed;
  set: (change: Partial<Typed>) => void;
  names: Names;
  problems: Problems;
  pictures: Pictures;
  onPicture: (key: string, bytes: ArrayBuffer | undefined) => void;
}

/** A photo of what came: taken here, kept with the lot once the arrival is told. */
function RowPhoto({ row, picture, onPicture }: { row: Row; picture: { url: string } | undefined; onPicture: RowsProps['onPicture'] }) {
  if (!picture) {
    return <p class="acts"><PhotoButton label={P.take} isCamera onPicture={(bytes) => onPicture(row.key, bytes)} /><PhotoButton label={P.choose} onPicture={(bytes) => onPicture(row.key, bytes)} /></p>;
  }
  return (
    <div class="photo-new">
      <img src={picture.url} alt={t(P.recorded, { what: row.name.trim() })} />
      <p class="acts"><button type="button" onClick={() => onPicture(row.key, undefined)}>{P.leave}</button></p>
    </div>
  );
}

function Rows({ typed, set, names, problems, pictures, onPicture }: RowsProps) {
  const box = useRef<HTMLDivElement>(null);
  const [isAdded, setAdded] = useState(false);
  const suggestions = [...new Set([...names.plants.map((plant) => plant.name), ...names.known_plants.flatMap((one) => [one.botanical_name, ...(one.common_name ? [one.common_name] : [])])])];
  const change = (key: string, part: Partial<Row>) => set({ rows: typed.rows.map((row) => (row.key === key ? { ...row, ...part } : row)) });
  const add = () => {
    set({ rows: [...typed.rows, emptyRow()] });
    setAdded(true);
  };
  useEffect(() => {
    if (!isAdded) return;
    const fields = box.current?.querySelectorAll<HTMLInputElement>('.row-name input');
    fields?.[fields.length - 1]?.focus();
    setAdded(false);
  }, [typed.rows.length]);
  return (
    <div ref={box}>
      <datalist id="plant-names">{suggestions.map((one) => <option key={one} value={one} />)}</datalist>
      {typed.rows.map((row, k) => (
        <div
          key={row.key}
          class="row"
          role="group"
          aria-label={t(A.name, { n: k + 1 })}
          onKeyDown={(event) => {
            if (event.key === 'Enter' && event.target instanceof HTMLInputElement && row.name.trim()) {
              event.preventDefault();
              add();
            }
          }}
        >
          <div class="field-row">
            <div class="row-name"><TextField label={t(A.name, { n: k + 1 })} list="plant-names" value={row.name} onValue={(name) => change(row.key, { name })} problem={k === 0 ? problems['name0'] : undefined} /></div>
            <div class="row-count"><NumberField label={A.count} isWhole value={row.count} onValue={(count) => change(row.key, { count })} problem={problems[`count${row.key}`]} /></div>
          </div>
          {row.name.trim() !== '' && (
            <details>
              <summary>{A.different}<span class="hidden">: {row.name}</span></summary>
              <div class="field-row">
                <SelectField label={A.form} value={row.form} empty={A.own} onValue={(form) => change(row.key, { form })} options={names.words.form.map(({ word, text }) => ({ value: word, label: text }))} />
                <SelectField label={A.use} value={row.use} empty={A.own} onValue={(use) => change(row.key, { use })} options={names.words.use.map(({ word }) => ({ value: word as Use, label: A.uses[word as Use] }))} />
              </div>
              <RowPhoto row={row} picture={pictures[row.key]} onPicture={onPicture} />
              <NumberField label={D.cost} isOptional value={row.cost ?? ''} onValue={(cost) => change(row.key, { cost })} problem={problems[`cost${row.key}`]} />
              {typed.rows.length > 1 && (
                <button type="button" onClick={() => set({ rows: typed.rows.filter((one) => one.key !== row.key) })}>{t(A.remove, { name: row.name })}</button>
              )}
            </details>
          )}
        </div>
      ))}
      <button type="button" onClick={add}>{A.more}</button>
      <Paste onRows={(rows) => set({ rows: [...typed.rows.filter((row) => row.name.trim()), ...rows] })} />
    </div>
  );
}

function Arrive({ names, places }: { names: Names; places: Places }) {
  const { record } = useRecord();
  const [typed, setTyped] = useState<Typed>(
    () => typedBefore() ?? { rows: [emptyRow()], source: '', kind: 'chain_store', hasAnimals: false, use: 'plants_only', form: 'potted', label: '', isClean: false, place: '' },
  );
  const [problems, setProblems] = useState<Problems>({});
  const [pictures, setPictures] = useState<Pictures>({});
  const onPicture = (key: string, bytes: ArrayBuffer | undefined) => {
    if (!bytes) setPictures(({ [key]: _, ...rest }) => rest);
    else void dataUrl(bytes).then((url) => setPictures((old) => ({ ...old, [key]: { bytes, url } })));
  };
  const set = (change: Partial<Typed>) => {
    setTyped((old) => {
      const now = { ...old, ...change };
      sessionStorage.setItem(KEPT, JSON.stringify(now));
      return now;
    });
  };
  const known = names.sources.find((one) => sameText(one.name, typed.source));
  const submit = async (): Promise<Problems> => {
    const found = problemsOf(typed);
    setProblems(found);
    if (Object.values(found).some(Boolean)) return found;
    const arrival = newId();
    const drafts = draftsOf(typed, names, places, arrival, pictures);
    const n = drafts.filter((one) => one.kind === 'lot_arrived').length;
    await record(t(tn(A.told, n), { source: typed.source.trim() }), drafts);
    sessionStorage.removeItem(KEPT);
    go(`/tonight/${arrival}`);
    return {};
  };
  const benches = places.filter((one) => one.kind !== 'enclosure' && one.kind !== 'outside');
  return (
    <Form onSubmit={submit} submit={A.submit}>
      <h2>{A.rows}</h2>
      <Rows typed={typed} set={set} names={names} problems={problems} pictures={pictures} onPicture={onPicture} />
      <h2>{A.source}</h2>
      <TextField label={A.source} hint={names.sources.length === 0 ? A.sourceHint : undefined} value={typed.source} onValue={(source) => set({ source })} suggestions={names.sources.map((one) => one.name)} problem={problems['source']} />
      {!known && (
        <>
          <SelectField label={A.kind} value={typed.kind} onValue={(kind) => set({ kind })} options={names.words.source_kind.map(({ word, text }) => ({ value: word, label: text }))} />
          <CheckField label={A.animals} isChecked={typed.hasAnimals} onChecked={(hasAnimals) => set({ hasAnimals })} />
        </>
      )}
      <ChoiceField label={A.use} value={typed.use} onValue={(use) => set({ use })} options={(Object.keys(A.uses) as Use[]).map((value) => ({ value, label: A.uses[value] }))} />
      <SelectField label={A.form} value={typed.form} onValue={(form) => set({ form })} options={names.words.form.map(({ word, text }) => ({ value: word, label: text }))} />
      <details>
        <summary>{S.lot.label}…</summary>
        <TextField label={A.label} isOptional value={typed.label} onValue={(label) => set({ label })} />
        <CheckField label={A.isClean} isChecked={typed.isClean} onChecked={(isClean) => set({ isClean })} />
        <NumberField label={D.takeBack} isOptional isWhole value={typed.takeBack ?? ''} onValue={(takeBack) => set({ takeBack })} problem={problems['takeBack']} />
        {benches.length > 0 && (
          <SelectField label={A.stands} value={typed.place} empty={benches.find((one) => one.kind === 'bench')?.name ?? A.bench} onValue={(place) => set({ place })} options={benches.map((one) => ({ value: one.id, label: one.name, group: one.kind_text }))} />
        )}
      </details>
    </Form>
  );
}

export default function ArriveScreen() {
  const names = useNames();
  const places = usePlaces();
  return (
    <Shown answer={names} title={A.title}>
      {(all) => {
        const isFirst = all.sources.length === 0 && all.plants.length === 0;
        const title = isFirst ? A.titleFirst : A.title;
        return (
          <div class="column">
            <Heading title={title}>{title}</Heading>
            {isFirst && (
              <>
                <p class="lead">{A.first}</p>
                <p class="quiet">{A.firstHere} <a href="/moving-in">{T.links.here.name}</a>. {A.demo}</p>
              </>
            )}
            {places.data && <Arrive names={all} places={places.data.places} />}
          </div>
        );
      }}
    </Shown>
  );
}
