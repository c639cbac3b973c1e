// All places: bins and jars as they stand on their shelves, then the rest.
import { useAnswer } from '../answer';
import { client, type PlaceBrief } from '../api';
import { Heading, Shown } from '../parts/screen';
import { DoorBarred } from '../parts/marks';
import { paths } from '../router';
import { S, t, tn } from '../strings.en';

function contents(place: PlaceBrief): string {
  if (place.lots.length > 0) return tn(S.places.lots, place.lots.length);
  return place.fill ? S.places.notClean : S.places.clean;
}

function opens(place: PlaceBrief): string {
  if (place.is_held || place.lots.length === 0 || !place.opens_text) return '';
  return place.opens_on ? t(S.places.opens, { when: place.opens_text }) : S.places.opensNot;
}

function looked(place: PlaceBrief): string {
  if (place.lots.length === 0) return '';
  return place.last_look_text ? t(S.places.looked, { when: place.last_look_text }) : S.places.neverLooked;
}

/** A bin or jar: a box with a lid; a bar across it when it is held. */
function ShelfBox({ place }: { place: PlaceBrief }) {
  return (
    <li class={`box ${place.kind}${place.is_held ? ' is-held' : ''}`}>
      <a href={paths.place(place.code)}>{place.name}</a>
      {place.is_held && <p class="bar-text">{S.places.held}</p>}
      {place.lots.map((lot) => <p key={lot.id} class="inside">{lot.name}</p>)}
      {place.lots.length === 0 && <p class="quiet">{contents(place)}</p>}
      {[opens(place), looked(place)].filter(Boolean).map((text) => <p key={text} class="quiet">{text}</p>)}
    </li>
  );
}

function Shelves({ places }: { places: PlaceBrief[] }) {
  const shelves = [...new Set(places.map((place) => place.shelf))].sort((a, b) => (a ?? 1e9) - (b ?? 1e9));
  return (
    <section aria-labelledby="shelves">
      <h2 id="shelves">{S.places.group.shelves}</h2>
      {shelves.map((shelf) => (
        <div key={shelf ?? 0} class="shelf">
          <h3>{shelf === null ? S.places.noShelf : t(S.places.shelf, { n: shelf })}</h3>
          <ul>
            {places.filter((place) => place.shelf === shelf).map((place) => <ShelfBox key={place.id} place={place} />)}
          </ul>
        </div>
      ))}
    </section>
  );
}

function Others({ kind, places }: { kind: 'bench' | 'open_spot' | 'enclosure' | 'outside'; places: PlaceBrief[] }) {
  if (places.length === 0) return null;
  return (
    <section aria-labelledby={`kind-${kind}`}>
      <h2 id={`kind-${kind}`}>{S.places.group[kind]}</h2>
      <ul class="lines bare">
        {places.map((place) => (
          <li key={place.id} class="line">
            {place.is_held && <DoorBarred />}
            <div>
              <a class="line-link" href={paths.place(place.code)}>{place.name}</a>
              <p class="quiet">
                {[place.is_held ? S.places.held : '', place.animals ?? '', place.lots.length > 0 ? tn(S.places.lots, place.lots.length) : S.places.noLots]
                  .filter(Boolean)
                  .join(' · ')}
              </p>
            </div>
          </li>
        ))}
      </ul>
    </section>
  );
}

function Whole({ places }: { places: PlaceBrief[] }) {
  const boxes = places.filter((place) => place.kind === 'bin' || place.kind === 'jar');
  if (places.length === 0) {
    return <div class="empty"><p class="lead">{S.places.empty}</p><p>{S.places.emptyText}</p></div>;
  }
  return (
    <div class="two">
      <div>{boxes.length > 0 && <Shelves places={boxes} />}</div>
      <div>
        {(['bench', 'open_spot', 'enclosure', 'outside'] as const).map((kind) => (
          <Others key={kind} kind={kind} places={places.filter((place) => place.kind === kind)} />
        ))}
      </div>
    </div>
  );
}

export default function PlacesScreen() {
  const answer = useAnswer('places', () => client.GET('/api/v1/places'));
  return (
    <Shown answer={answer} title={S.places.title}>
      {({ places }) => (
        <>
          <p class="kicker">{tn(S.places.kicker, places.length)}</p>
          <Heading title={S.places.title}>{S.places.title}</Heading>
          <Whole places={places} />
        </>
      )}
    </Shown>
  );
}
