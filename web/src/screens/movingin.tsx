// Moving in: a pasted list is shown as it is understood, then recorded as one batch that can be taken back.
import { useState } from 'preact/hooks';
import { tellAnswers, useAnswer } from '../answer';
import { client, settle, type Schemas, type Trouble } from '../api';
import { Form, LongField, SelectField, type Problems } from '../parts/form';
import { PhotoButton } from '../parts/photos';
import { Heading, TroubleBox } from '../parts/screen';
import { moment, newId, nowMs } from '../record/event';
import { once, useRecord } from '../record/use';
import { S, t, tn } from '../strings.en';
import { moving as M } from '../strings/builds.en';
import { photos as P } from '../strings/photos.en';

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

/** One photo, one plant: it stands there under "unnamed plant" until somebody says what it is. */
function ByPhotos() {
  const places = useAnswer('places', () => client.GET('/api/v1/places'));
  const { recordTogether } = useRecord();
  const [at, setAt] = useState('');
  const [n, setN] = useState(0);
  const all = (places.data?.places ?? []).filter((one) => one.kind !== 'outside');
  const here = all.find((one) => one.id === at);
  const tell = (photo: ArrayBuffer) => {
    if (!here) return;
    const lot = newId();
    void recordTogether(t(P.movedIn, { place: here.name }), [
      { kind: 'lot_already_here', body: { lot, name: P.unnamed, count: 1, form: 'potted', use: here.strictest_use, place: here.id } },
      { kind: 'photo_attached', body: { subject: lot }, photo },
    ]);
    setN(n + 1);
  };
  if (all.length === 0) return null;
  return (
    <section aria-labelledby="by-photos">
      <h2 id="by-photos">{P.movingIn}</h2>
      <p>{P.movingInText}</p>
      <SelectField label={P.movingInPlace} value={at} empty="–" onValue={setAt} options={all.map((one) => ({ value: one.id, label: one.name, group: one.kind_text }))} />
      {here && <p class="acts"><PhotoButton label={P.movingInDo} isCamera onPicture={tell} /><PhotoButton label={P.choose} onPicture={tell} /></p>}
      {n > 0 && <p class="note" role="status">{tn(P.movingInDone, n)} <a href="/photos">{P.toName}</a></p>}
    </section>
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
      {!seen && <ByPhotos />}
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
