// Which plants suit a place: those that stand there, or one that is asked about.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type Schemas } from '../api';
import { Form, TextField } from '../parts/form';
import { DoorOpen, DoorBarred, DoorShut, Leaf } from '../parts/marks';
import { Heading, Shown } from '../parts/screen';
import { paths } from '../router';
import type { ScreenProps } from '../screens';
import { suits as U } from '../strings/suits.en';
import { t } from '../strings.en';

type Plant = Schemas['SuitsPlant'];

function Mark({ state }: { state: Plant['whole'] }) {
  if (state === 'against') return <DoorBarred />;
  if (state === 'thrives') return <Leaf />;
  return state === 'fits' ? <DoorOpen /> : <DoorShut />;
}

function OnePlant({ plant }: { plant: Plant }) {
  return (
    <li class="line">
      <Mark state={plant.whole} />
      <div>
        <b>{plant.plant}</b> {plant.botanical && <i class="quiet">{plant.botanical}</i>} <span class="state">{plant.whole_text}{plant.is_here && ` · ${U.here}`}</span>
        <p>{plant.text}</p>
        <details>
          <summary>{U.table}</summary>
          <table>
            <thead><tr><th scope="col">{U.aspect}</th><th scope="col">{U.state}</th><th scope="col">{U.why}</th></tr></thead>
            <tbody>
              {plant.aspects.map((one) => (
                <tr key={one.aspect}><th scope="row">{one.aspect_text}</th><td>{one.state_text}</td><td>{one.text}</td></tr>
              ))}
            </tbody>
          </table>
        </details>
      </div>
    </li>
  );
}

export default function SuitsScreen({ params: { id = '' } }: ScreenProps) {
  const [typed, setTyped] = useState('');
  const [plant, setPlant] = useState('');
  const known = useAnswer('names', () => client.GET('/api/v1/names'));
  const answer = useAnswer(`suits ${id} ${plant}`, () =>
    client.GET('/api/v1/places/{id}/suits', { params: { path: { id }, query: plant ? { plant } : {} } }),
  );
  const names = [...(known.data?.plants ?? []).map((one) => one.name), ...(known.data?.known_plants ?? []).map((one) => one.botanical_name)];
  return (
    <Shown answer={answer} title={U.plain}>
      {(data) => (
        <>
          <div class="head">
            {data.place && <p class="kicker"><a href={paths.place(data.place.code)}>{data.place.name}</a>{data.animals && ` · ${data.animals}`}</p>}
            <Heading title={U.plain}>{t(U.title, { place: data.place?.name ?? '' })}</Heading>
            <p class="lead">{U.lead}</p>
          </div>
          <section aria-labelledby="site">
            <h2 id="site">{U.site}</h2>
            <p>{data.site.text}</p>
            {data.place && <p><a href={`/places/${data.place.code}/do/change`}>{U.tell}</a></p>}
          </section>
          <section aria-labelledby="ask">
            <h2 id="ask">{U.ask}</h2>
            <Form submit={U.submit} onSubmit={async () => { setPlant(typed.trim()); return undefined; }}>
              <TextField label={U.field} value={typed} onValue={setTyped} suggestions={names} />
            </Form>
            {plant && <p><button type="button" onClick={() => { setPlant(''); setTyped(''); }}>{U.all}</button></p>}
          </section>
          {data.plants.length === 0 ? <p class="quiet">{U.none}</p> : (
            <ul class="lines">{data.plants.map((one) => <OnePlant key={one.plant} plant={one} />)}</ul>
          )}
          {data.note && <p class="quiet">{data.note}</p>}
        </>
      )}
    </Shown>
  );
}
