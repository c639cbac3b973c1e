// All places: bins and jars as they stand on their shelves, then the rest.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, PLAIN, type PlaceBrief } from '../api';
import { useMore } from '../more';
import { Awaited, useFew } from '../parts/few';
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
function ShelfBox({ place, isAsked }: { place: PlaceBrief; isAsked: boolean }) {
  return (
    <li class={`box ${place.kind}${place.is_held ? ' is-held' : ''}`}>
      <a href={paths.place(place.code)}>{place.name}</a>
      {place.is_held && <p class="bar-text">{S.places.held}</p>}
      {place.lots.map((lot) => <p key={lot.id} class="inside">{lot.name}</p>)}
      {place.lots.length === 0 && <p class="quiet">{contents(place)}</p>}
      {isAsked && !place.opens_text && <p class="quiet awaited" aria-hidden="true">…</p>}
      {[opens(place), looked(place)].filter(Boolean).map((text) => <p key={text} class="quiet">{text}</p>)}
    </li>
  );
}

const byShelf = (a: PlaceBrief, b: PlaceBrief) => (a.shelf ?? 1e9) - (b.shelf ?? 1e9);

const askPlaces = async (codes: readonly string[]) => {
  const { data, ...rest } = await client.GET('/api/v1/places', { params: { query: { only: codes.join(',') } } });
  return data ? { ...rest, data: data.places } : rest;
};

function Shelves({ places, all, about }: { places: PlaceBrief[]; all: object; about: string }) {
  const { shown, more } = useFew([...places].sort(byShelf), about);
  const asked = shown.filter((place) => place.lots.some((lot) => lot.phase === 'quarantine')).map((place) => place.code);
  const answers = useMore(all, asked, askPlaces, (place) => place.code);
  const shelves = [...new Set(shown.map((place) => place.shelf))];
  return (
    <section aria-labelledby="shelves">
      <h2 id="shelves">{S.places.group.shelves}</h2>
      {shelves.map((shelf) => (
        <div key={shelf ?? 0} class="shelf">
          <h3>{shelf === null ? S.places.noShelf : t(S.places.shelf, { n: shelf })}</h3>
          <ul>
            {shown.filter((place) => place.shelf === shelf).map((place) => <ShelfBox key={place.id} place={answers.of(place.code) ?? place} isAsked={asked.includes(place.code)} />)}
          </ul>
        </div>
      ))}
      {more}
      <Awaited left={answers.left} />
    </section>
  );
}

function Others({ kind, places }: { kind: 'bench' | 'open_spot' | 'enclosure' | 'outside'; places: PlaceBrief[] }) {
  const { shown, more } = useFew(places, kind);
  if (places.length === 0) return null;
  return (
    <section aria-labelledby={`kind-${kind}`}>
      <h2 id={`kind-${kind}`}>{S.places.group[kind]}</h2>
      <ul class="lines bare">
        {shown.map((place) => (
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
      {more}
    </section>
  );
}

/** Below this many places a list needs no field to find in. */
const MANY = 24;

function fits(place: PlaceBrief, text: string): boolean {
  const wanted = text.trim().toLowerCase();
  return [place.name, place.code, place.animals ?? '', ...place.lots.map((lot) => lot.name)].some((part) => part.toLowerCase().includes(wanted));
}

function Whole({ places: all }: { places: PlaceBrief[] }) {
  const [text, setText] = useState('');
  const places = text ? all.filter((place) => fits(place, text)) : all;
  const isMany = all.length > MANY;
  return (
    <>
      {isMany && (
        <form role="search" class="find" onSubmit={(event) => event.preventDefault()}>
          <label for="find">{S.places.find}</label>
          <input id="find" type="search" autocomplete="off" value={text} onInput={(event) => setText(event.currentTarget.value)} />
          <p class="hidden" role="status">{text ? tn(S.places.kicker, places.length) : ''}</p>
        </form>
      )}
      {all.length > 0 && places.length === 0 && <p>{t(S.places.none, { text })}</p>}
      <Kinds places={places} all={all} about={text} />
    </>
  );
}

function Kinds({ places, all, about }: { places: PlaceBrief[]; all: PlaceBrief[]; about: string }) {
  const boxes = places.filter((place) => place.kind === 'bin' || place.kind === 'jar');
  if (all.length === 0) {
    return <div class="empty"><p class="lead">{S.places.empty}</p><p>{S.places.emptyText}</p></div>;
  }
  return (
    <div class="two">
      <div>{boxes.length > 0 && <Shelves places={boxes} all={all} about={about} />}</div>
      <div>
        {(['bench', 'open_spot', 'enclosure', 'outside'] as const).map((kind) => (
          <Others key={kind} kind={kind} places={places.filter((place) => place.kind === kind)} />
        ))}
      </div>
    </div>
  );
}

export default function PlacesScreen() {
  const answer = useAnswer('places plain', () => client.GET('/api/v1/places', PLAIN));
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
