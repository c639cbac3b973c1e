// A logger's file: chosen, looked at, its open questions answered, taken in as one batch, undone.
import { useEffect, useState } from 'preact/hooks';
import type { components } from '../../build/api';
import { tellAnswers, useAnswer } from '../answer';
import { client } from '../api';
import { ChoiceField, NumberField, readNumber } from '../parts/form';
import { useJob } from '../jobs';
import { Heading, Shown } from '../parts/screen';
import { WorkLine } from '../parts/work';
import { newId } from '../record/event';
import { once, useRecord } from '../record/use';
import type { ScreenProps } from '../screens';
import { climate as C } from '../strings/climate.en';
import { work as W } from '../strings/work.en';
import { t } from '../strings.en';

type Look = components['schemas']['ReadingsLook'];
type Place = components['schemas']['Place'];
type Taken = components['schemas']['Recorded'];

const F = C.file;

interface Said {
  look?: Look;
  trouble?: string;
}

const CSV = { 'Content-Type': 'text/csv', 'X-Requested-By': 'fernlock' };

const addressOf = (place: Place, action: string, query: Record<string, string>) =>
  `/api/v1/places/${place.id}/readings${action}?${new URLSearchParams(query)}`;

/** Sends the file's bytes as they are: the server finds out what they mean. */
async function preview(place: Place, file: File, answers: Record<string, string>): Promise<{ status: number; body: unknown }> {
  const response = await fetch(addressOf(place, '/preview', answers), { method: 'POST', headers: CSV, body: file });
  return { status: response.status, body: await response.json() };
}

function detailOf(body: unknown): string {
  const found = body as { detail?: string; title?: string };
  return found.detail ?? found.title ?? '';
}

function First({ look }: { look: Look }) {
  if (look.first.length === 0) return null;
  return (
    <>
      <h3>{F.first}</h3>
      <div class="table-scroll" tabIndex={0} role="group" aria-label={F.first}>
        <table>
          <thead><tr><th>{F.head.local}</th><th class="n">{F.head.temp}</th><th class="n">{F.head.rh}</th></tr></thead>
          <tbody>
            {look.first.map((row) => (
              <tr key={row.line}><td>{row.local}</td><td class="n">{row.temp_c?.toFixed(2) ?? ''}</td><td class="n">{row.rh_pct?.toFixed(1) ?? ''}</td></tr>
            ))}
          </tbody>
        </table>
      </div>
    </>
  );
}

function Whole({ place }: { place: Place }) {
  const recorder = useRecord();
  const [file, setFile] = useState<File>();
  const [answers, setAnswers] = useState<Record<string, string>>({});
  const [asks, setAsks] = useState<Look['questions']>([]); // also those that were answered: an answer may change
  const [shift, setShift] = useState('');
  const [said, setSaid] = useState<Said>({});
  const [isBusy, setBusy] = useState(false);
  const [batch, setBatch] = useState<{ key: string; n?: number | undefined; isUndone?: boolean }>();
  const [key, setKey] = useState(newId());
  const minutes = readNumber(shift, { least: -5_256_000, most: 5_256_000, isWhole: true });
  const asked = { ...answers, ...(minutes.value ? { shift_min: String(minutes.value) } : {}) };

  useEffect(() => {
    let isOver = false;
    if (!file || minutes.problem) return undefined;
    setBusy(true);
    void preview(place, file, asked)
      .then(({ status, body }) => {
        if (isOver) return;
        setSaid(status === 200 ? { look: body as Look } : { trouble: detailOf(body) });
        if (status === 200) setAsks((old) => [...old, ...(body as Look).questions.filter((one) => !old.some((known) => known.question === one.question))]);
      })
      .catch((problem: unknown) => { if (!isOver) setSaid({ trouble: String(problem) }); })
      .finally(() => { if (!isOver) setBusy(false); });
    return () => { isOver = true; };
  }, [file, JSON.stringify(asked)]);

  const work = useJob<Taken>('readings', {
    onEnd: (outcome) => {
      if (outcome.is === 'done') {
        setBatch({ key: outcome.data.results[0]?.id ?? key, n: said.look?.n_new });
        setKey(newId());
        tellAnswers();
      } else if (outcome.is === 'failed') {
        setSaid({ trouble: outcome.trouble.detail || outcome.trouble.title });
      }
    },
  });
  const take = () => {
    const { look } = said;
    if (!file || !look || look.questions.length > 0) return;
    work.begin(addressOf(place, '', { ...asked, name: file.name }), { method: 'POST', headers: { ...CSV, 'Idempotency-Key': key }, body: file });
  };
  const undo = async () => {
    if (!batch) return;
    await recorder.record(F.undone, [{ kind: 'event_voided', body: { event: batch.key } }]);
    setBatch({ ...batch, isUndone: true });
  };

  const { look, trouble } = said;
  const back = `/climate/${encodeURIComponent(place.code)}`;
  return (
    <>
      <div class="head">
        <p class="kicker"><a href={back}>{t(F.back, { name: place.name })}</a></p>
        <Heading title={F.title}>{F.title}: {place.name}</Heading>
      </div>
      <p>{F.lead}</p>
      {batch && (
        <div class="note" role="status">
          <p><b>{batch.isUndone ? F.undone : batch.n === undefined ? F.doneEarlier : t(F.done, { n: batch.n })}</b> {!batch.isUndone && F.doneMore}</p>
          {!batch.isUndone && <button type="button" onClick={once(() => void undo())}>{F.undo}</button>}
        </div>
      )}
      <div class="field file-choose">
        <label for="file">{F.choose}</label>
        <p class="quiet" id="file-hint">{F.chooseHint}</p>
        <input
          id="file" type="file" accept=".csv,.txt,.tsv,text/csv,text/plain" aria-describedby="file-hint"
          onChange={(event) => { setAnswers({}); setAsks([]); setBatch(undefined); setSaid({}); setFile(event.currentTarget.files?.[0]); }}
        />
      </div>
      {file && <NumberField label={F.clock} unit={F.minutes} hint={F.clockHint} isOptional problem={minutes.problem} value={shift} onValue={setShift} />}
      <p role="status" class="progress">{isBusy ? F.looking : ''}</p>
      {work.job && <WorkLine at={work.job} text={F.taking} onCancel={work.cancel} />}
      {work.outcome?.is === 'cancelled' && <p role="status">{W.cancelled}</p>}
      {trouble && <div class="trouble" role="alert"><p>{trouble}</p></div>}
      {look && (
        <section aria-labelledby="read">
          <h2 id="read">{F.read}</h2>
          <ul class="plain">{look.sentences.map((text) => <li key={text}>{text}</li>)}</ul>
          {asks.length > 0 && <h3>{F.questions}</h3>}
          {asks.map((question) => (
            <ChoiceField
              key={question.question} label={question.text} value={answers[question.question] ?? ''}
              options={question.choices.map((choice) => ({ value: choice.value, label: choice.text }))}
              onValue={(value) => setAnswers((old) => ({ ...old, [question.question]: value }))}
            />
          ))}
          <First look={look} />
          {look.questions.length === 0 && (look.n_new > 0
            ? <p><button type="button" class="main-act" disabled={isBusy || work.isBusy} onClick={once(take)}>{t(F.take, { n: look.n_new })}</button></p>
            : <p>{F.nothing}</p>)}
        </section>
      )}
    </>
  );
}

export default function ClimateFileScreen({ params }: ScreenProps) {
  const id = params['id'] ?? '';
  const answer = useAnswer(`place ${id}`, () => client.GET('/api/v1/places/{id}', { params: { path: { id } } }));
  return <Shown answer={answer} title={F.title}>{(place) => <Whole place={place} />}</Shown>;
}
