// One batch: a tray as one lot with a count. Potting on, losses and giving away are a few taps; the account of
// its plants and who got which stand below. The forms stay, so that the next one is recorded at once.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type PlaceBrief, type Schemas } from '../api';
import { day } from '../format';
import { ChoiceField, Form, NumberField, readNumber, SelectField, TextField, WhenField, type Problems } from '../parts/form';
import { PlaceSelect, usePlaces } from '../parts/pick';
import { Heading, Shown } from '../parts/screen';
import { newId, type Draft } from '../record/event';
import { useRecord } from '../record/use';
import { paths } from '../router';
import type { ScreenProps } from '../screens';
import { batch as B } from '../strings/batch.en';
import { S, t } from '../strings.en';

type Batch = Schemas['Batch'];
type Part = Batch['parts'][number];
type What = keyof typeof B.whats;

const PRESETS = [1, 6, 12, 24];
const needed = (what: string) => t(S.recording.form.missing, { what: what.toLowerCase() });

/** How many, typed or by one tap. */
function Count({ most, value, onValue, problem }: { most: number; value: string; onValue: (value: string) => void; problem: string | undefined }) {
  return (
    <div>
      <NumberField label={B.count} isWhole value={value} onValue={onValue} problem={problem} />
      <p class="acts tight">
        {PRESETS.filter((n) => n < most).map((n) => <button key={n} type="button" onClick={() => onValue(String(n))}>{n}</button>)}
        <button type="button" onClick={() => onValue(String(most))}>{t(B.all, { n: most })}</button>
      </p>
    </div>
  );
}

interface Doing { part: Part; n: number; id: string; split: Draft[] }

/** The lot that these plants are: the lot itself when they are all of it, else a new one that is split off. */
function doing(part: Part, n: number): Doing {
  const isAll = n === part.count;
  const id = isAll ? part.lot.id : newId();
  return { part, n, id, split: isAll ? [] : [{ kind: 'lot_split', body: { lot: part.lot.id, new_lot: id, count: n } }] };
}

/** What the gate says of giving it away, for what the lot is for; frozen with the giving. */
function useGate(part: Part, isAsked: boolean) {
  const answer = useAnswer(`gate ${part.lot.id} ${part.use} ${String(isAsked)}`, () =>
    client.GET('/api/v1/lots/{id}/gate', { params: { path: { id: part.lot.id }, query: { use: part.use } } }));
  return isAsked ? answer.data : undefined;
}

function takerOf(places: readonly PlaceBrief[], name: string): { id: string; made: Draft[] } {
  const old = places.find((one) => one.kind === 'outside' && one.name.toLowerCase() === name.toLowerCase());
  if (old) return { id: old.id, made: [] };
  const id = newId();
  return { id, made: [{ kind: 'place_set', body: { place: id, name, kind: 'outside' } }] };
}

function Act({ part, what, places, onDone }: { part: Part; what: What; places: readonly PlaceBrief[]; onDone: () => void }) {
  const { recordTogether } = useRecord();
  const [count, setCount] = useState(what === 'die' ? '1' : String(part.count));
  const [container, setContainer] = useState('');
  const [to, setTo] = useState('');
  const [why, setWhy] = useState('');
  const [taker, setTaker] = useState('');
  const [when, setWhen] = useState('');
  const [problems, setProblems] = useState<Problems>({});
  const gate = useGate(part, what === 'give');
  const isShut = what === 'give' && gate !== undefined && !gate.is_open && !when;

  const draftsOf = (n: number): Draft[] => {
    const { id, split } = doing(part, n);
    if (what === 'die') return [{ kind: 'lot_lost', body: { lot: part.lot.id, count: n, why: why.trim() } }];
    if (what === 'pot') {
      const step: Draft = { kind: 'step_done', body: { steps: [{ lots: [id], step: 'pot_up', ...(container.trim() ? { container: container.trim() } : {}) }] } };
      const isMoved = to !== '' && to !== part.place?.id;
      return [...split, step, ...(isMoved ? [{ kind: 'lot_moved', body: { lots: [id], to } }] : [])];
    }
    const who = takerOf(places, taker.trim());
    // The answer is frozen as it was given; for a day in the past it was never asked.
    const kept = when ? {} : { is_against_gate: isShut || undefined, answer_json: gate, knowledge: gate?.knowledge_sha256 };
    return [...who.made, ...split, { kind: 'lot_released', body: { lot: id, to: who.id, ...kept } }];
  };

  const submit = async (): Promise<Problems> => {
    const { value, problem } = readNumber(count, { least: 1, most: part.count, isWhole: true });
    const found: Problems = {
      count: problem ?? (value === undefined ? needed(B.count) : undefined),
      taker: what === 'give' && taker.trim() === '' ? needed(B.taker) : undefined,
    };
    setProblems(found);
    if (value === undefined || Object.values(found).some(Boolean)) return found;
    const text = B.told[isShut ? 'giveAnyway' : what];
    const drafts = draftsOf(value).map((draft) => (when ? { ...draft, occurredAt: when } : draft));
    await recordTogether(t(text, { n: value, lot: part.lot.name, taker: taker.trim() }), drafts);
    onDone();
    return {};
  };

  return (
    <Form onSubmit={submit} submit={B.submit[isShut ? 'giveAnyway' : what]}>
      <Count most={part.count} value={count} onValue={setCount} problem={problems['count']} />
      {what === 'pot' && <TextField label={B.container} isOptional value={container} onValue={setContainer} suggestions={B.containers} />}
      {what === 'pot' && <PlaceOrStay places={places} part={part} value={to} onValue={setTo} />}
      {what === 'die' && <TextField label={B.why} isOptional value={why} onValue={setWhy} suggestions={B.whys} />}
      {what === 'give' && (
        <TextField label={B.taker} hint={B.takerHint} value={taker} onValue={setTaker} problem={problems['taker']} suggestions={places.filter((one) => one.kind === 'outside').map((one) => one.name)} />
      )}
      {gate && <div class={isShut ? 'held' : 'note'} role="status"><p>{when ? B.toldPast : gate.answer_text}</p></div>}
      <WhenField value={when} onValue={setWhen} />
    </Form>
  );
}

function PlaceOrStay({ places, part, value, onValue }: { places: readonly PlaceBrief[]; part: Part; value: string; onValue: (id: string) => void }) {
  const kinds: PlaceBrief['kind'][] = ['bench', 'bin', 'jar', 'open_spot', 'enclosure'];
  return <PlaceSelect places={places.filter((one) => kinds.includes(one.kind))} label={B.to} value={value || (part.place?.id ?? '')} onValue={onValue} />;
}

function Acts({ batch, first, places }: { batch: Batch; first: Part; places: readonly PlaceBrief[] }) {
  const [what, setWhat] = useState<What | ''>('');
  const [lot, setLot] = useState(first.lot.id);
  const [turn, setTurn] = useState(0);
  const part = batch.parts.find((one) => one.lot.id === lot) ?? batch.parts[0] ?? first;
  const label = (one: Part) => t(B.ofLot, { n: one.count, container: one.container_text, place: one.place?.name ?? B.nowhere, code: one.lot.code });
  return (
    <section aria-labelledby="act">
      <h2 id="act">{B.act}</h2>
      {batch.parts.length > 1 && (
        <SelectField label={B.of} value={part.lot.id} onValue={setLot} options={batch.parts.map((one) => ({ value: one.lot.id, label: label(one) }))} />
      )}
      <ChoiceField label={B.what} value={what} onValue={setWhat} options={(Object.keys(B.whats) as What[]).map((value) => ({ value, label: B.whats[value] }))} />
      {what !== '' && <Act key={`${what} ${part.lot.id} ${part.count} ${turn}`} part={part} what={what} places={places} onDone={() => { setTurn(turn + 1); setWhat(''); }} />}
    </section>
  );
}

export function Leavings({ lines, none, isByBatch = false }: { lines: Batch['leavings']; none?: string; isByBatch?: boolean }) {
  if (lines.length === 0) return none ? <p class="quiet">{none}</p> : null;
  return (
    <ul class="plain linked">
      {lines.map((line) => (
        <li key={line.event_id + line.lot.id}>
          <a href={isByBatch ? `${paths.lot(line.batch.code)}/batch` : paths.lot(line.lot.code)}>{line.text}</a>
          {line.is_against_gate && <span class="quiet"> · {B.against}</span>}
        </li>
      ))}
    </ul>
  );
}

function Whole({ batch, code }: { batch: Batch; code: string }) {
  const places = usePlaces();
  const first = batch.parts.find((one) => one.lot.code === code.toUpperCase() || one.lot.id === code) ?? batch.parts[0];
  return (
    <div class="column">
      <p class="kicker">
        {t(B.kicker, { code: batch.lot.code, form: batch.form_text, date: day(batch.born_on) })}
        {batch.source_text && t(B.from, { source: batch.source_text })}
      </p>
      <Heading title={batch.lot.name}>{batch.lot.name}</Heading>
      <p class="lead">{batch.text}</p>
      {first && places.data && <Acts batch={batch} first={first} places={places.data.places} />}
      <section aria-labelledby="here">
        <h2 id="here">{B.here}</h2>
        {batch.parts.length === 0 && <p class="quiet">{B.none}</p>}
        <ul class="plain linked">
          {batch.parts.map((part) => (
            <li key={part.lot.id}>
              <a href={paths.lot(part.lot.code)}>{t(B.part, { n: part.count, place: part.place?.name ?? B.nowhere, container: part.container_text })}</a> <span class="quiet">{part.lot.code}</span>
            </li>
          ))}
        </ul>
      </section>
      <section aria-labelledby="who">
        <h2 id="who">{B.who}</h2>
        <Leavings lines={batch.leavings} none={B.whoNone} />
      </section>
      {batch.losses.length > 0 && (
        <section aria-labelledby="died">
          <h2 id="died">{B.died}</h2>
          <ul class="plain">{batch.losses.map((line) => <li key={line.event_id}>{line.text}</li>)}</ul>
        </section>
      )}
      {batch.cuttings.length > 0 && (
        <section aria-labelledby="cut">
          <h2 id="cut">{B.cuttings}</h2>
          <ul class="plain linked">
            {batch.cuttings.map((one) => (
              <li key={one.lot.id}><a href={`${paths.lot(one.lot.code)}/batch`}>{t(B.cutting, { n: one.count_born, date: day(one.born_on), code: one.lot.code })}</a></li>
            ))}
          </ul>
          {batch.cutting_leavings.length > 0 && <h3>{B.cutWho}</h3>}
          <Leavings lines={batch.cutting_leavings} />
        </section>
      )}
      <p><a class="button" href="/batches">{B.allBatches}</a></p>
    </div>
  );
}

export default function BatchScreen({ params: { id = '' } }: ScreenProps) {
  const answer = useAnswer(`batch ${id}`, () => client.GET('/api/v1/lots/{id}/batch', { params: { path: { id } } }));
  return <Shown answer={answer} title={B.name}>{(batch) => <Whole batch={batch} code={id} />}</Shown>;
}
