// All batches, and everyone who got plants of any: the same leavings, listed both ways.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type Schemas } from '../api';
import { day } from '../format';
import { useFew } from '../parts/few';
import { TextField } from '../parts/form';
import { Heading, Shown } from '../parts/screen';
import { paths } from '../router';
import { batches as A } from '../strings/batch.en';
import { t, tn } from '../strings.en';
import { Leavings } from './batch';

type Batches = Schemas['Batches'];

function All({ batches, takers }: Batches) {
  const [text, setText] = useState('');
  const wanted = text.trim().toLowerCase();
  const has = (...parts: string[]) => parts.some((part) => part.toLowerCase().includes(wanted));
  const fitting = batches.filter((one) => has(one.lot.name, one.lot.code));
  const people = takers.filter((one) => has(one.place.name, ...one.leavings.flatMap((line) => [line.text, line.batch.code])));
  const few = useFew(fitting, text, 30);
  if (batches.length === 0) return <p>{A.none}</p>;
  return (
    <>
      <form role="search" class="form" onSubmit={(event) => event.preventDefault()}>
        <TextField label={A.find} value={text} onValue={setText} />
      </form>
      <div class="two">
        <section aria-labelledby="batches">
          <h2 id="batches">{A.by}</h2>
          {fitting.length === 0 && <p class="quiet">{A.noFit}</p>}
          <ul class="plain linked">
            {few.shown.map((one) => (
              <li key={one.lot.id}>
                <a href={`${paths.lot(one.lot.code)}/batch`}>{one.lot.name}</a> <span class="quiet">{t(A.since, { code: one.lot.code, date: day(one.born_on) })}</span>
                <p>{one.text}</p>
              </li>
            ))}
          </ul>
          {few.more}
        </section>
        <section aria-labelledby="takers">
          <h2 id="takers">{A.takers}</h2>
          {people.length === 0 && <p class="quiet">{takers.length === 0 ? A.takersNone : A.noFit}</p>}
          {people.map((one) => (
            <div key={one.place.id}>
              <h3>{one.place.name} <span class="state">{tn(A.took, one.count)}</span></h3>
              <Leavings lines={one.leavings} isByBatch />
            </div>
          ))}
        </section>
      </div>
    </>
  );
}

export default function BatchesScreen() {
  const answer = useAnswer('batches', () => client.GET('/api/v1/batches'));
  return (
    <Shown answer={answer} title={A.title}>
      {(data) => (
        <div>
          <Heading title={A.title}>{A.title}</Heading>
          <p class="lead">{A.lead}</p>
          <All {...data} />
        </div>
      )}
    </Shown>
  );
}
