// Moving in: a pasted list is shown as it is understood, then recorded as one batch that can be taken back.
import { useState } from 'preact/hooks';
import { tellAnswers } from '../answer';
import { client, settle, type Schemas, type Trouble } from '../api';
import { Form, LongField, type Problems } from '../parts/form';
import { Heading, TroubleBox } from '../parts/screen';
import { moment, newId, nowMs } from '../record/event';
import { once, useRecord } from '../record/use';
import { S, t } from '../strings.en';
import { moving as M } from '../strings/builds.en';

type MovedIn = Schemas['MovedIn'];

interface Asked {
  id: string;
  occurred_at: string;
  text: string;
}

function Understood({ seen }: { seen: MovedIn }) {
  return (
    <>
      {seen.troubles.map((one) => <p class="problem" key={one.line}>{t(M.line, { n: one.line, text: one.text })}</p>)}
      <p class="lead">{seen.text}</p>
      {seen.places.map((place) => (
        <section key={place.id} aria-labelledby={`place-${place.id}`}>
          <h2 id={`place-${place.id}`}>
            {place.name} <span class="state">{place.kind_text} · {place.uses_text}{place.is_new && ` · ${M.isNew}`}</span>
          </h2>
          <ul class="dots">
            {seen.lots.filter((lot) => lot.place === place.name).map((lot, k) => (
              <li key={k}>{lot.count} {lot.plant}{!lot.botanical && <span class="quiet"> · {M.unknown}</span>}</li>
            ))}
          </ul>
        </section>
      ))}
    </>
  );
}

export default function MovingInScreen() {
  const { record } = useRecord();
  const [text, setText] = useState('');
  const [asked, setAsked] = useState<Asked>();
  const [seen, setSeen] = useState<MovedIn>();
  const [trouble, setTrouble] = useState<Trouble>();
  const [isUndone, setUndone] = useState(false);

  const send = async (what: Asked, isPreview: boolean) => {
    const answer = await settle(client.POST('/api/v1/already-here', { body: { ...what, is_preview: isPreview } }));
    if ('trouble' in answer) {
      setTrouble(answer.trouble);
      return;
    }
    setTrouble(undefined);
    setSeen(answer.data);
    if (answer.data.is_recorded) tellAnswers();
  };
  const look = async (): Promise<Problems | undefined> => {
    const what = { id: newId(), occurred_at: moment(nowMs() - 1000), text };
    setAsked(what);
    await send(what, true);
    return undefined;
  };
  const takeBack = () => {
    if (!seen) return;
    void record(M.undone, [...seen.event_ids].reverse().map((event) => ({ kind: 'event_voided' as const, body: { event } })));
    setUndone(true);
  };

  return (
    <div class="column">
      <Heading title={M.title}>{M.title}</Heading>
      <p class="lead">{M.lead}</p>
      {trouble && <TroubleBox trouble={trouble} again={() => asked && void send(asked, true)} />}
      {!seen && (
        <Form onSubmit={look} submit={M.look}>
          <LongField label={M.field} hint={M.hint} rows={12} value={text} onValue={setText} />
          <pre class="example">{M.example}</pre>
        </Form>
      )}
      {seen && <Understood seen={seen} />}
      {seen && !seen.is_recorded && (
        <p class="acts">
          {seen.troubles.length === 0 && asked && (
            <button type="button" class="main-act" onClick={once(() => void send(asked, false))}>{M.record}</button>
          )}
          <button type="button" onClick={() => setSeen(undefined)}>{M.change}</button>
        </p>
      )}
      {seen?.is_recorded && (
        <p class="note" role="status">
          {isUndone ? M.undone : M.done}{' '}
          {!isUndone && <button type="button" onClick={once(takeBack)}>{M.undo}</button>}{' '}
          <a href="/places">{S.nav.places}</a>
        </p>
      )}
    </div>
  );
}
