// On the phone: what the QR code leads to. It tells a name, shows the digits to compare, and waits for the keeper's
// word. Without a key (no camera) the digits are typed. It needs no session.
import { useEffect, useState } from 'preact/hooks';
import { client, settle, type Schemas, type Trouble } from '../api';
import { Form, TextField, type Problems } from '../parts/form';
import { Heading } from '../parts/screen';
import { askSession, keepSession, takePairKey, takeWish } from '../session';
import { S } from '../strings.en';
import { pair } from '../strings/pair.en';
import { spaced } from './pair';

const P = pair.phone;
const POLL_MS = 1_500;
type Waiting = Schemas['SessionWaiting'];
type Answer = Waiting | Schemas['Session'];

function guessName(): string {
  const agent = navigator.userAgent;
  if (agent.includes('iPhone')) return P.guesses.iphone;
  if (agent.includes('iPad')) return P.guesses.ipad;
  return agent.includes('Android') ? P.guesses.android : P.guesses.other;
}

function In({ wish }: { wish: string | undefined }) {
  return (
    <>
      <p class="lead">{P.inText}</p>
      {wish && <p><a class="button big main-act" href={wish}>{P.toWish}</a></p>}
      <p><a class={wish ? 'button big' : 'button big main-act'} href="/sink">{P.toSink}</a></p>
      <p><a class="button big" href="/">{P.toToday}</a></p>
      <p class="quiet">{P.auto}</p>
    </>
  );
}

function Ask({ pairKey, onAnswer }: { pairKey: string; onAnswer: (answer: Answer) => void }) {
  const [name, setName] = useState(guessName());
  const [digits, setDigits] = useState('');
  const [problems, setProblems] = useState<Problems>({});
  const [trouble, setTrouble] = useState<Trouble>();
  const [hasKey, setHasKey] = useState(pairKey !== '');
  const submit = async (): Promise<Problems> => {
    const found: Problems = {
      name: name.trim() ? undefined : P.nameMissing,
      digits: hasKey || /^(\D*\d){6}\D*$/.test(digits) ? undefined : P.digitsMissing,
    };
    setProblems(found);
    if (found.name || found.digits) return found;
    const secret = hasKey ? { key: pairKey } : { code: digits.replace(/\D/g, '') };
    const answer = await settle(client.POST('/api/v1/session', { body: { ...secret, name: name.trim() } }));
    setTrouble('trouble' in answer ? answer.trouble : undefined);
    if ('data' in answer) onAnswer(answer.data);
    else if (answer.trouble.status === 401) setHasKey(false); // the key is spent: the digits may be typed
    return {};
  };
  return (
    <>
      {trouble && (
        <div class="trouble" role="alert">
          <p><b>{trouble.status === 0 ? S.unreachable : trouble.title}</b></p>
          {trouble.status !== 0 && <p>{trouble.detail}</p>}
        </div>
      )}
      <Form onSubmit={submit} submit={P.ask} isBig>
        {!hasKey && (
          <TextField label={P.digits} hint={P.digitsHint} value={digits} onValue={setDigits} problem={problems.digits} isDigits />
        )}
        <TextField label={P.name} value={name} onValue={setName} problem={problems.name} />
      </Form>
    </>
  );
}

export default function PairPhoneScreen() {
  const [pairKey] = useState(takePairKey);
  const [waiting, setWaiting] = useState<Waiting>();
  const [isIn, setIn] = useState(false);
  const [wasIn, setWasIn] = useState(false);
  const [wish, setWish] = useState<string>();
  const [ended, setEnded] = useState<Trouble>();

  const take = (answer: Answer) => {
    setEnded(undefined);
    if ('tier' in answer) {
      keepSession(answer);
      setWish(takeWish());
      setIn(true);
      setWaiting(undefined);
    } else {
      setWaiting(answer);
    }
  };

  useEffect(() => {
    if (pairKey === '') void askSession().then((session) => setWasIn(session !== undefined));
  }, []);

  useEffect(() => {
    if (!waiting) return;
    const timer = setInterval(() => {
      void settle(client.POST('/api/v1/session', { body: { claim: waiting.claim } })).then((answer) => {
        if ('data' in answer) {
          if ('tier' in answer.data) take(answer.data);
        } else if (answer.trouble.status !== 0) { // the network may be gone for a moment: it asks again
          setWaiting(undefined);
          setEnded(answer.trouble);
        }
      });
    }, POLL_MS);
    return () => clearInterval(timer);
  }, [waiting?.claim]);

  const title = isIn ? P.in : waiting ? P.waiting : P.title;
  return (
    <div class="column">
      <Heading key={title} title={title}>{title}</Heading>
      <div role="status">
        {waiting && (
          <>
            <p class="digits">{spaced(waiting.code)}</p>
            <p class="lead">{P.waitingText}</p>
          </>
        )}
        {ended && (
          <div class="trouble">
            <p><b>{ended.title}</b></p>
            <p>{ended.detail}</p>
          </div>
        )}
      </div>
      {isIn && <In wish={wish} />}
      {!isIn && !waiting && (
        <>
          <p class="lead">{P.lead}</p>
          {wasIn && <p class="note">{P.already} <a href="/">{P.toToday}</a></p>}
          <Ask pairKey={ended ? '' : pairKey} onAnswer={take} />
          <p class="note">{pair.trust}</p>
        </>
      )}
    </div>
  );
}
