// What happened to one lot: released, moved, cut, split, lost, a step.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type Lot, type PlaceBrief, type Use } from '../api';
import type { components } from '../../build/api';
import { ChoiceField, Form, NumberField, readNumber, SelectField, TextField, WhenField, type Problems } from '../parts/form';
import { Back, lotLabel, PlaceSelect, useNames, usePlaces } from '../parts/pick';
import { Heading, Shown } from '../parts/screen';
import { newId, type Draft } from '../record/event';
import { useRecord } from '../record/use';
import { go, paths } from '../router';
import type { ScreenProps } from '../screens';
import { NotFound } from './notfound';
import { tell as T } from '../strings/tell.en';
import { S, t } from '../strings.en';

const L = T.lot;
type Names = components['schemas']['Names'];
interface Part { lot: Lot; places: PlaceBrief[]; names: Names }

/** Records one event about the lot and goes back to it. */
function useTell(lot: Lot): (what: string, draft: Draft) => Promise<Problems> {
  const { record } = useRecord();
  return async (what, draft) => {
    await record(what, [draft]);
    go(paths.lot(lot.code));
    return {};
  };
}

const needed = (what: string) => t(S.recording.form.missing, { what: what.toLowerCase() });

function whole(text: string, most: number, what: string): { value: number; problem: string | undefined } {
  const { value, problem } = readNumber(text, { least: 1, most, isWhole: true });
  return { value: value ?? 0, problem: problem ?? (value === undefined ? needed(what) : undefined) };
}

/** What an enclosure holds already: the lot's own answer is only a part of it. */
function Already({ place }: { place: PlaceBrief }) {
  const answer = useAnswer(`place ${place.id}`, () => client.GET('/api/v1/places/{id}', { params: { path: { id: place.id } } }));
  return answer.data ? <p>{t(L.release.already, { place: place.name, text: answer.data.total.text })}</p> : null;
}

function Release({ lot, places }: Part) {
  const W = L.release;
  const tell = useTell(lot);
  const [to, setTo] = useState('');
  const [when, setWhen] = useState('');
  const [problems, setProblems] = useState<Problems>({});
  const place = places.find((one) => one.id === to);
  const uses = place?.kind === 'enclosure' && place.uses.length > 0 ? place.uses.join(',') : place?.kind === 'bin' ? 'stock' : lot.use;
  const gate = useAnswer(`gate ${lot.id} ${uses}`, () => client.GET('/api/v1/lots/{id}/gate', { params: { path: { id: lot.id }, query: { use: uses } } }));
  const isShut = gate.data !== undefined && !gate.data.is_open;
  const submit = async (): Promise<Problems> => {
    const found: Problems = { to: place ? undefined : needed(W.to) };
    setProblems(found);
    if (!place) return found;
    const answer = gate.data;
    return tell(t(isShut ? W.toldAnyway : W.told, { lot: lot.name, place: place.name }), {
      kind: 'lot_released',
      ...(when ? { occurredAt: when } : {}),
      body: {
        lot: lot.id, to: place.id, is_against_gate: isShut || undefined,
        // The answer is frozen as it was given; for a day in the past it was never asked.
        answer_json: when ? undefined : answer, knowledge: when ? undefined : answer?.knowledge_sha256,
      },
    });
  };
  return (
    <Form onSubmit={submit} submit={isShut ? W.anyway : W.submit}>
      <PlaceSelect places={places.filter((one) => one.id !== lot.place?.id)} kinds={['enclosure', 'bin', 'jar', 'open_spot', 'bench', 'outside']} label={W.to} value={to} onValue={setTo} problem={problems['to']} />
      {place && gate.data && (
        <div class={isShut ? 'held' : 'note'} role="status">
          <p class="lead">{gate.data.answer_text}</p>
          {place.kind === 'enclosure' && <Already key={place.id} place={place} />}
          <p class="quiet">{gate.data.pace_text}</p>
          <p><a href={paths.gate(lot.code, uses)}>{S.lot.gateMore}</a></p>
        </div>
      )}
      <WhenField value={when} onValue={setWhen} />
    </Form>
  );
}

function Move({ lot, places }: Part) {
  const W = L.move;
  const tell = useTell(lot);
  const [to, setTo] = useState('');
  const [when, setWhen] = useState('');
  const [problems, setProblems] = useState<Problems>({});
  const place = places.find((one) => one.id === to);
  const submit = async (): Promise<Problems> => {
    const found: Problems = { to: place ? undefined : needed(W.to) };
    setProblems(found);
    if (!place) return found;
    return tell(t(W.told, { lot: lot.name, place: place.name }), { kind: 'lot_moved', ...(when ? { occurredAt: when } : {}), body: { lots: [lot.id], to: place.id } });
  };
  return (
    <>
      <p><a class="button" href={`/put?lots=${lot.code}`}>{W.priced}</a></p>
      <Form onSubmit={submit}>
        <PlaceSelect places={places.filter((one) => one.id !== lot.place?.id)} label={W.to} value={to} onValue={setTo} problem={problems['to']} />
        <WhenField value={when} onValue={setWhen} />
      </Form>
    </>
  );
}

function Cut({ lot, places, names }: Part) {
  const W = L.cut;
  const tell = useTell(lot);
  const [count, setCount] = useState('1');
  const [form, setForm] = useState('unrooted_cutting');
  const [use, setUse] = useState<Use>(lot.use);
  const [to, setTo] = useState(lot.place?.id ?? '');
  const [problems, setProblems] = useState<Problems>({});
  const submit = async (): Promise<Problems> => {
    const n = whole(count, 1_000_000, W.count);
    const found: Problems = { count: n.problem, to: to ? undefined : needed(W.to) };
    setProblems(found);
    if (Object.values(found).some(Boolean)) return found;
    return tell(t(W.told, { n: n.value, lot: lot.name }), { kind: 'lot_cut', body: { mother: lot.id, lot: newId(), count: n.value, form, use, place: to } });
  };
  const known = useAnswer(`giving ${lot.code}`, () => client.GET('/api/v1/collection', { params: { query: { plain: true, only: lot.code } } }));
  const plant = known.data?.plants[0];
  const giving = plant?.lots.find((one) => one.lot.id === lot.id)?.giving_text;
  const told = [giving ? `${giving.charAt(0).toUpperCase()}${giving.slice(1)}.` : '', plant?.rooting_text ?? '', plant?.cuttings_text ?? ''].filter(Boolean).join(' ');
  const forms = names.words.form.filter(({ word }) => ['unrooted_cutting', 'bare_root', 'potted', 'plug', 'moss_clump'].includes(word));
  return (
    <Form onSubmit={submit}>
      {told && <p class="note">{told}</p>}
      <NumberField label={W.count} isWhole value={count} onValue={setCount} problem={problems['count']} />
      <ChoiceField label={W.form} value={form} onValue={setForm} options={forms.map(({ word, text }) => ({ value: word, label: text }))} />
      <SelectField label={W.use} value={use} onValue={setUse} options={(Object.keys(T.arrive.uses) as Use[]).map((value) => ({ value, label: T.arrive.uses[value] }))} />
      <PlaceSelect places={places} label={W.to} value={to} onValue={setTo} problem={problems['to']} />
    </Form>
  );
}

function Split({ lot }: Part) {
  const W = L.split;
  const tell = useTell(lot);
  const [count, setCount] = useState('1');
  const [problem, setProblem] = useState<string>();
  const submit = async (): Promise<Problems> => {
    const n = whole(count, Math.max(lot.count - 1, 1), W.count);
    setProblem(n.problem);
    if (n.problem) return { count: n.problem };
    return tell(t(W.told, { n: n.value, lot: lot.name }), { kind: 'lot_split', body: { lot: lot.id, new_lot: newId(), count: n.value } });
  };
  return (
    <Form onSubmit={submit}>
      <NumberField label={W.count} hint={t(W.most, { n: lot.count })} isWhole value={count} onValue={setCount} problem={problem} />
    </Form>
  );
}

function Lose({ lot }: Part) {
  const W = L.lose;
  const tell = useTell(lot);
  const [count, setCount] = useState(String(lot.count));
  const [why, setWhy] = useState('');
  const [when, setWhen] = useState('');
  const [problem, setProblem] = useState<string>();
  const submit = async (): Promise<Problems> => {
    const n = whole(count, 1_000_000, W.count);
    setProblem(n.problem);
    if (n.problem) return { count: n.problem };
    return tell(t(W.told, { n: n.value, lot: lot.name }), { kind: 'lot_lost', ...(when ? { occurredAt: when } : {}), body: { lot: lot.id, count: n.value, why: why.trim() } });
  };
  return (
    <Form onSubmit={submit}>
      <NumberField label={W.count} isWhole value={count} onValue={setCount} problem={problem} />
      <TextField label={W.why} isOptional value={why} onValue={setWhy} />
      <WhenField value={when} onValue={setWhen} />
    </Form>
  );
}

function Step({ lot, names }: Part) {
  const W = L.step;
  const tell = useTell(lot);
  const [step, setStep] = useState('rinse');
  const [agent, setAgent] = useState('none');
  const [minutes, setMinutes] = useState('');
  const [dose, setDose] = useState('');
  const [when, setWhen] = useState('');
  const [problems, setProblems] = useState<Problems>({});
  const submit = async (): Promise<Problems> => {
    const time = readNumber(minutes, { least: 0.1, most: 525_600 });
    const strength = readNumber(dose, { least: 0.001, most: 1_000_000 });
    const found: Problems = { minutes: time.problem, dose: strength.problem };
    setProblems(found);
    if (Object.values(found).some(Boolean)) return found;
    const text = names.words.step.find(({ word }) => word === step)?.text ?? step;
    return tell(t(W.told, { lot: lot.name, step: text }), {
      kind: 'step_done',
      ...(when ? { occurredAt: when } : {}),
      body: { steps: [{ lots: [lot.id], step, agent: agent === 'none' ? undefined : agent, minutes: time.value, dose_mg_per_l: strength.value }] },
    });
  };
  const options = (list: { word: string; text: string }[]) => list.map(({ word, text }) => ({ value: word, label: text }));
  return (
    <Form onSubmit={submit}>
      <SelectField label={W.step} value={step} onValue={setStep} options={options(names.words.step)} />
      <SelectField label={W.agent} value={agent} onValue={setAgent} options={options(names.words.agent)} />
      <div class="field-row">
        <NumberField label={W.minutes} unit="min" isOptional value={minutes} onValue={setMinutes} problem={problems['minutes']} />
        {agent !== 'none' && <NumberField label={W.dose} unit="mg/L" isOptional value={dose} onValue={setDose} problem={problems['dose']} />}
      </div>
      <WhenField value={when} onValue={setWhen} />
    </Form>
  );
}

const FORMS = { release: Release, move: Move, cut: Cut, split: Split, lose: Lose, step: Step } as const;
export type LotAct = keyof typeof FORMS;

export default function LotDoScreen({ params: { id = '', what = '' } }: ScreenProps) {
  const lot = useAnswer(`lot ${id}`, () => client.GET('/api/v1/lots/{id}', { params: { path: { id } } }));
  const places = usePlaces();
  const names = useNames();
  if (!(what in FORMS)) return <NotFound />;
  const act = what as LotAct;
  const Part = FORMS[act];
  return (
    <Shown answer={lot} title={L[act].link}>
      {(one) => {
        const title = t(L[act].title, { lot: one.name });
        return (
          <div class="column">
            <Back to={paths.lot(one.code)}>{lotLabel(one)}</Back>
            <Heading title={title}>{title}</Heading>
            {places.data && names.data && <Part lot={one} places={places.data.places} names={names.data} />}
          </div>
        );
      }}
    </Shown>
  );
}
