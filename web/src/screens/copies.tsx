// Copies of the record: how they stand, one more, the record checked against itself, and everything taken out.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, settle, type Schemas, type Trouble } from '../api';
import { dayLong } from '../format';
import { Heading, Shown, TroubleBox } from '../parts/screen';
import { once } from '../record/use';
import { copies as C } from '../strings/copies.en';
import { t, tn } from '../strings.en';

type Verified = Schemas['Verified'];

const holdsText = (holds: Verified) => t(C.holds, { events: holds.events, lots: holds.lots });
const sizeText = (bytes: number) => t(C.size, { n: Math.max(1, Math.round(bytes / 1024)) });

type State<T> = { is: 'idle' } | { is: 'working' } | { is: 'done'; data: T } | { is: 'failed'; trouble: Trouble };

/** A job of the server that is asked for by a button: while it runs that is said, afterwards what came of it. */
function Job<T>({ label, working, about, ask, said, after }: {
  label: string; working: string; about: string; said: (data: T) => string; after?: () => void;
  ask: () => Promise<{ data?: T; error?: unknown; response: Response }>;
}) {
  const [state, setState] = useState<State<T>>({ is: 'idle' });
  const run = once(() => {
    setState({ is: 'working' });
    void settle(ask()).then((answer) => {
      setState('trouble' in answer ? { is: 'failed', trouble: answer.trouble } : { is: 'done', data: answer.data });
      after?.();
    });
  });
  return (
    <>
      <p class="quiet">{about}</p>
      <p class="acts"><button type="button" disabled={state.is === 'working'} onClick={run}>{label}</button></p>
      <div role="status">
        {state.is === 'working' && <p>{working}</p>}
        {state.is === 'done' && <p class="note">{said(state.data)}</p>}
      </div>
      {state.is === 'failed' && <TroubleBox trouble={state.trouble} again={run} />}
    </>
  );
}

export default function CopiesScreen() {
  const answer = useAnswer('backup', () => client.GET('/api/v1/backup'));
  return (
    <Shown answer={answer} title={C.title}>
      {(state) => (
        <div class="column">
          <div class="head">
            <Heading title={C.title}>{C.title}</Heading>
            <p class="lead">{state.newest_on ? t(C.newest, { date: dayLong(state.newest_on) }) : C.none}</p>
            {state.trouble_text && <p class="note">{state.trouble_text}</p>}
          </div>
          <section aria-labelledby="make">
            <h2 id="make">{C.make}</h2>
            <Job
              label={C.makeDo} working={C.making} about={C.makeAbout} after={answer.again}
              ask={() => client.POST('/api/v1/backup', { body: {} })}
              said={(made) => `${t(C.made, { file: made.file, size: sizeText(made.size_bytes) })} ${holdsText(made.holds)} ${tn(C.kept, made.kept)}`}
            />
          </section>
          <section aria-labelledby="check">
            <h2 id="check">{C.check}</h2>
            <Job label={C.checkDo} working={C.checking} about={C.checkAbout} ask={() => client.POST('/api/v1/verify', { body: {} })} said={(holds) => `${C.checked} ${holdsText(holds)}`} />
          </section>
          <section aria-labelledby="out">
            <h2 id="out">{C.out}</h2>
            <p class="quiet">{C.outAbout}</p>
            <p class="acts"><a class="button" href="/api/v1/export" download>{C.outDo}</a></p>
          </section>
          <section aria-labelledby="back">
            <h2 id="back">{C.back}</h2>
            <p>{C.backAbout}</p>
            <p><code>fernlock --room ROOM restore {state.newest_file ? `ROOM/backups/${state.newest_file}` : 'FILE'}</code></p>
          </section>
        </div>
      )}
    </Shown>
  );
}
