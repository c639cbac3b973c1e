// A history card from another keeper, taken in: its lot arrives, and the past that it tells stands with it.
import { useState } from 'preact/hooks';
import { tellAnswers } from '../answer';
import { client, settle, type Schemas, type Use } from '../api';
import { Field, SelectField } from '../parts/form';
import { useNames, usePlaces } from '../parts/pick';
import { once } from '../record/use';
import { newId, moment, nowMs } from '../record/event';
import { paths } from '../router';
import { cardIn as C } from '../strings/copies.en';
import { tell as T } from '../strings/tell.en';
import { t } from '../strings.en';

export function CardIn() {
  const names = useNames();
  const places = usePlaces();
  const [card, setCard] = useState<Record<string, unknown>>();
  const [id, setId] = useState(newId);
  const [source, setSource] = useState('');
  const [place, setPlace] = useState('');
  const [use, setUse] = useState<Use>('plants_only');
  const [told, setTold] = useState('');
  const [taken, setTaken] = useState<Schemas['HistoryTaken']>();
  const read = async (file: File | undefined) => {
    setTaken(undefined);
    setId(newId());
    try {
      setCard(file ? JSON.parse(await file.text()) : undefined);
      setTold('');
    } catch {
      setCard(undefined);
      setTold(C.notCard);
    }
  };
  const take = once(() => {
    if (!card || !source || !place) return setTold(C.missing);
    void settle(client.POST('/api/v1/cards', { body: { id, occurred_at: moment(nowMs()), source, place, use, card } })).then((answer) => {
      if ('trouble' in answer) return setTold(answer.trouble.detail || answer.trouble.title);
      setTaken(answer.data);
      setTold('');
      tellAnswers();
    });
  });
  /** All that the taking recorded is voided as one. */
  const undo = once(() => {
    if (!taken) return;
    void settle(client.POST('/api/v1/lots/sheet/undo', { body: { batch: taken.batch } })).then((answer) => {
      if ('trouble' in answer) return setTold(answer.trouble.detail || answer.trouble.title);
      setTold(t(C.undone, { name: taken.name, code: taken.code }));
      setTaken(undefined);
      setId(newId()); // taken in again, it is another
      tellAnswers();
    });
  });
  return (
    <section aria-labelledby="card-in">
      <h2 id="card-in">{C.title}</h2>
      <p>{C.about}</p>
      <div class="form">
        <Field label={C.file}>{(ties) => <input type="file" accept=".json,application/json" {...ties} onChange={(event) => void read(event.currentTarget.files?.[0])} />}</Field>
        <SelectField label={C.from} value={source} empty={C.choose} options={(names.data?.sources ?? []).map((one) => ({ value: one.id, label: one.name }))} onValue={setSource} />
        <SelectField label={C.place} value={place} empty={C.choose} options={(places.data?.places ?? []).map((one) => ({ value: one.id, label: one.name }))} onValue={setPlace} />
        <SelectField label={C.use} value={use} options={(Object.keys(T.arrive.uses) as Use[]).map((value) => ({ value, label: T.arrive.uses[value] }))} onValue={setUse} />
      </div>
      <p class="acts"><button type="button" onClick={take}>{C.take}</button></p>
      <div role="status">
        {told && <p class="problem">{told}</p>}
        {taken && <p class="note">{t(C.taken, { name: taken.name, code: taken.code, teller: taken.teller, n: taken.lines })} <a href={paths.lot(taken.code)}>{C.open}</a> <button type="button" onClick={undo}>{C.undo}</button></p>}
      </div>
    </section>
  );
}
