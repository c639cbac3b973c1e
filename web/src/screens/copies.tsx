// Copies of the record: how they stand, one more, the record checked against itself, and everything taken out.
import { useAnswer } from '../answer';
import { client, type Schemas } from '../api';
import { dayLong } from '../format';
import { useJob } from '../jobs';
import { Heading, Shown } from '../parts/screen';
import { ExportHere } from '../parts/takeout';
import { JobHere } from '../parts/work';
import { copies as C } from '../strings/copies.en';
import { t, tn } from '../strings.en';

type Verified = Schemas['Verified'];
type Made = Schemas['BackupMade'];

const holdsText = (holds: Verified) => t(C.holds, { events: holds.events, lots: holds.lots });
const sizeText = (bytes: number) => t(C.size, { n: Math.max(1, Math.round(bytes / 1024)) });

const EMPTY: RequestInit = { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{}' };

export default function CopiesScreen() {
  const answer = useAnswer('backup', () => client.GET('/api/v1/backup'));
  const backup = useJob<Made>('backup', { onEnd: answer.again });
  const verify = useJob<Verified>('verify');
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
            <p class="quiet">{C.makeAbout}</p>
            <JobHere
              work={backup} label={C.makeDo} text={C.making} begin={() => backup.begin('/api/v1/backup', EMPTY)}
              said={(made) => <p>{`${t(C.made, { file: made.file, size: sizeText(made.size_bytes) })} ${holdsText(made.holds)} ${tn(C.kept, made.kept)}`}</p>}
            />
          </section>
          <section aria-labelledby="check">
            <h2 id="check">{C.check}</h2>
            <p class="quiet">{C.checkAbout}</p>
            <JobHere
              work={verify} label={C.checkDo} text={C.checking} begin={() => verify.begin('/api/v1/verify', EMPTY)}
              said={(holds) => <p>{`${C.checked} ${holdsText(holds)}`}</p>}
            />
          </section>
          <section aria-labelledby="out">
            <h2 id="out">{C.out}</h2>
            <p class="quiet">{C.outAbout}</p>
            <ExportHere />
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
