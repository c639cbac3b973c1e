// Which bin is wrong, and what to do: light, air and water of every place.
import type { components } from '../../build/api';
import { useAnswer } from '../answer';
import { client } from '../api';
import { Heading, Shown } from '../parts/screen';
import { ShelfMap } from '../parts/shelfmap';
import type { ScreenProps } from '../screens';
import { climate as C } from '../strings/climate.en';
import { t } from '../strings.en';

type Climate = components['schemas']['Climate'];
type Place = components['schemas']['ClimatePlace'];

const address = (place: Place) => `/climate/${encodeURIComponent(place.place.code)}`;

function Line({ place }: { place: Place }) {
  const rank = place.rank as keyof typeof C.rank;
  const off = place.plants.filter((plant) => plant.state === 'dark' || plant.state === 'bright');
  return (
    <li>
      <div class="climate-head">
        <span class={`badge ${rank}`}>{C.rank[rank]}</span>
        <a href={address(place)}>{place.place.name}</a>
        <span>{place.text}</span>
      </div>
      {place.light.basis !== 'start' && off.length > 0 && (
        <p class="quiet">{off.map((plant) => t(C.plants, { name: plant.name, state: plant.state_text })).join(', ')}</p>
      )}
      {rank !== 'fine' && place.advice.length > 0 && <ul>{place.advice.map((text) => <li key={text}>{text}</li>)}</ul>}
    </li>
  );
}

function want(place: Place): string {
  const band = place.light.want;
  if (!band) return C.noPlants;
  return band.low_mol_m2_d > band.high_mol_m2_d ? C.noBand : `${band.low_mol_m2_d.toFixed(1)} to ${band.high_mol_m2_d.toFixed(1)}`;
}

/** Light a day on one scale for all places, with what the plants want. */
function Daily({ places }: { places: readonly Place[] }) {
  const most = Math.max(4, ...places.flatMap((place) => [place.light.dli_mol_m2_d ?? 0, place.light.want?.high_mol_m2_d ?? 0]));
  const x = (dli: number) => (dli / most) * 1000;
  return (
    <section aria-labelledby="daily">
      <h2 id="daily">{C.daily}</h2>
      <p class="quiet">{C.dailyText}</p>
      <div class="daily" aria-hidden="true">
        {places.map((place) => {
          const dli = place.light.dli_mol_m2_d ?? 0;
          const band = place.light.want;
          const fits = !band || (dli >= band.low_mol_m2_d && dli <= band.high_mol_m2_d);
          return (
            <div key={place.place.id} class="daily-row">
              <span>{place.place.name}</span>
              <svg viewBox="0 0 1000 40" preserveAspectRatio="none">
                <line class="rail" x1="0" x2="1000" y1="20" y2="20" />
                {band && band.high_mol_m2_d > band.low_mol_m2_d && <rect class="want" x={x(band.low_mol_m2_d)} width={x(band.high_mol_m2_d - band.low_mol_m2_d)} y="8" height="24" />}
                <line class={fits ? 'mark' : 'mark off'} x1={x(dli)} x2={x(dli)} y1={fits ? 8 : 0} y2={fits ? 32 : 40} />
              </svg>
            </div>
          );
        })}
      </div>
      <details>
        <summary>{C.dailyTable}</summary>
        <div class="table-scroll" tabIndex={0} role="group" aria-label={C.daily}>
          <table>
            <thead><tr><th>{C.dailyHead.place}</th><th class="n">{C.dailyHead.dli}</th><th>{C.dailyHead.want}</th><th>{C.dailyHead.how}</th></tr></thead>
            <tbody>
              {places.map((place) => (
                <tr key={place.place.id}>
                  <th scope="row">{place.place.name}</th>
                  <td class="n">{(place.light.dli_mol_m2_d ?? 0).toFixed(1)}</td>
                  <td>{want(place)}</td>
                  <td>{place.light.basis_text}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      </details>
    </section>
  );
}

function Rechecks({ list }: { list: Climate['rechecks'] }) {
  if (list.length === 0) return null;
  return (
    <section aria-labelledby="rechecks">
      <h2 id="rechecks">{C.rechecks}</h2>
      <p>{C.rechecksText}</p>
      <ul class="climate-list">
        {list.map((one) => (
          <li key={one.lot.id}>
            <p>{one.text}</p>
            <ul>{one.proposals.map((text) => <li key={text}>{text}</li>)}</ul>
          </li>
        ))}
      </ul>
    </section>
  );
}

function Whole({ climate }: { climate: Climate }) {
  return (
    <>
      <Heading title={C.title}>{C.title}</Heading>
      <p class="lead">{climate.text}</p>
      {climate.places.length === 0 ? <p>{C.none}</p> : (
        <section aria-labelledby="list">
          <h2 id="list">{C.listTitle}</h2>
          <ul class="climate-list">{climate.places.map((place) => <Line key={place.place.id} place={place} />)}</ul>
        </section>
      )}
      <Rechecks list={climate.rechecks} />
      {climate.places.length > 0 && <Daily places={climate.places} />}
      {climate.shelves.map((shelf, k) => <ShelfMap key={k} shelf={shelf} id={`shelf-${k}`} />)}
      <section aria-labelledby="notes">
        <h2 id="notes">{C.notes}</h2>
        <p>{climate.start.text}</p>
        {climate.short_days.map((one) => <p key={one.threat}>{one.text}</p>)}
      </section>
    </>
  );
}

export default function ClimateScreen(_: ScreenProps) {
  const answer = useAnswer('climate', () => client.GET('/api/v1/climate'));
  return <Shown answer={answer} title={C.title}>{(climate) => <Whole climate={climate} />}</Shown>;
}
