// One place: a bin, a jar, a bench, an enclosure.
import { useAnswer } from '../answer';
import { client, type Place } from '../api';
import { day, temperature, volume } from '../format';
import { LookHere } from '../parts/lookhere';
import { LotLine } from '../parts/lotline';
import { DoorBarred } from '../parts/marks';
import { Photos } from '../parts/photos';
import { Conflicts, looksOf, Record } from '../parts/record';
import { Heading, Shown } from '../parts/screen';
import { Scale, Strip } from '../parts/strip';
import { Trims } from '../parts/trims';
import type { ScreenProps } from '../screens';
import { look as L } from '../strings/look.en';
import { suits as U } from '../strings/suits.en';
import { tell as T } from '../strings/tell.en';
import { S, t } from '../strings.en';

function kicker(place: Place): string {
  const parts = [place.kind_text];
  if (place.shelf !== null) parts.push(t(S.place.shelf, { n: place.shelf }));
  if (place.set_temp_c !== null) parts.push(temperature(place.set_temp_c));
  return parts.join(' · ');
}

function Held({ place }: { place: Place }) {
  const now = place.holds.filter((hold) => hold.is_now);
  if (now.length === 0) return null;
  return (
    <div class="held">
      <p class="answer"><DoorBarred /><span>{S.place.held}</span></p>
      {now.map((hold) => (
        <p key={hold.id}>
          {t(S.place.heldSince, { date: day(hold.from_on), why: hold.why ?? hold.cause_text })}{' '}
          {hold.finding_id && <a href={`/found/${hold.finding_id}`}>{S.place.heldMore}</a>}
        </p>
      ))}
    </div>
  );
}

function Facts({ place }: { place: Place }) {
  const isBox = place.kind === 'bin' || place.kind === 'jar';
  return (
    <dl class="facts pairs">
      <dt>{S.place.fill}</dt>
      <dd>
        {place.fill ? t(S.place.fillText, { days: place.fill.days_text, date: day(place.fill.from_on) }) : S.place.fillNone}
        {place.fill?.began_with_lots && ` ${S.place.fillLots}`}
      </dd>
      {place.opens_text && (<><dt>{S.place.opens}</dt><dd>{place.opens_on ? `${day(place.opens_on)}, ${place.opens_text}` : place.opens_text}</dd></>)}
      <dt>{S.place.lastLook}</dt>
      <dd>{place.last_look_text ?? S.places.neverLooked}</dd>
      {place.cards.length > 0 && (
        <>
          <dt>{S.place.cards}</dt>
          {place.cards.map((card) => <dd key={card.device}>{t(S.place.cardSince, { device: card.device_text, date: day(card.since_on) })}</dd>)}
        </>
      )}
      {place.animals && (<><dt>{S.place.animals}</dt><dd>{place.animals}</dd></>)}
      {place.kind === 'enclosure' && (<><dt>{S.place.uses}</dt><dd>{place.uses_text}</dd></>)}
      {isBox && place.volume_l !== null && (<><dt>{S.place.volume}</dt><dd>{volume(place.volume_l)}{place.has_gasket && `, ${S.place.gasket}`}</dd></>)}
    </dl>
  );
}

function Total({ place }: { place: Place }) {
  const { total } = place;
  return (
    <section aria-labelledby="total">
      <h2 id="total">{S.place.total}</h2>
      <p>{total.text}</p>
      {place.lots.length > 0 && (
        <>
          <Strip chance={{ prob: total.prob_any, prob_least: total.prob_any, prob_most: total.prob_any, text: total.text }} />
          <Scale />
        </>
      )}
    </section>
  );
}

const ACTS = ['clean', 'card', 'hold', 'lift', 'tolerate', 'trial', 'change'] as const;

const MOVABLE: readonly Place['kind'][] = ['bin', 'jar', 'open_spot', 'bench'];

function Acts({ place }: { place: Place }) {
  return (
    <section aria-labelledby="acts">
      <h2 id="acts">{T.place.acts}</h2>
      <p class="acts">
        {ACTS.filter((act) => act !== 'lift' || place.is_held).map((act) => (
          <a key={act} class="button" href={`/places/${place.code}/do/${act}`}>{T.place[act].link}</a>
        ))}
        <a class="button" href={`/found?place=${place.code}`}>{L.something}</a>
        {MOVABLE.includes(place.kind) && place.lots.length > 0 && <a class="button" href={`/put?lots=${place.lots.map((lot) => lot.code).join(',')}`}>{T.place.join}</a>}
        {place.kind === 'enclosure' && <a class="button" href="/found/animal">{T.place.animal.link}</a>}
      </p>
      <p><a href={`/history?place=${place.code}`}>{T.place.history}</a></p>
    </section>
  );
}

function Whole({ place }: { place: Place }) {
  const lines = looksOf(place.looks, place.findings);
  return (
    <>
      <div class="head">
        <p class="kicker">{kicker(place)}</p>
        <Heading title={place.name}>{place.name}</Heading>
      </div>
      <Held place={place} />
      {place.kind !== 'outside' && <p class="ask"><a href={`/found?place=${encodeURIComponent(place.code)}`}>{S.place.foundHere}</a></p>}
      {(place.kind === 'bin' || place.kind === 'jar') && <p class="ask"><a href={`/climate/${encodeURIComponent(place.code)}`}>{S.place.lightHere}</a></p>}
      <div class="two">
        <div>
          {place.lots.length > 0 && place.kind !== 'outside' && <LookHere place={place} />}
          <Trims place={place} />
          <Acts place={place} />
          <section aria-labelledby="lots">
            <h2 id="lots">{S.place.lots}</h2>
            {place.lots.length === 0 ? <p class="quiet">{S.place.lotsNone}</p> : (
              <ul class="lines">{place.lots.map((lot) => <LotLine key={lot.id} lot={lot} hasPlace={false} />)}</ul>
            )}
          </section>
          {place.kind !== 'bench' && place.kind !== 'outside' && <Total place={place} />}
        </div>
        <div>
          <section aria-labelledby="facts">
            <h2 id="facts">{S.place.facts}</h2>
            <Facts place={place} />
            {place.kind === 'enclosure' && <p><a href={`/places/${place.code}/suits`}>{U.link}</a></p>}
          </section>
          <Photos of={place.id} what={place.name} />
          <section aria-labelledby="looks">
            <h2 id="looks">{S.place.looks}</h2>
            {lines.length === 0 ? <p class="quiet">{S.place.looksNone}</p> : <Record lines={lines} />}
          </section>
          {place.earlier_fills.length > 0 && (
            <section aria-labelledby="earlier">
              <h2 id="earlier">{S.place.earlier}</h2>
              <ul class="plain">
                {place.earlier_fills.map((fill) => (
                  <li key={fill.id}>{t(S.place.earlierText, { from: day(fill.from_on), to: fill.to_on ? day(fill.to_on) : '', days: fill.days_text })}</li>
                ))}
              </ul>
            </section>
          )}
          <Conflicts of={place} />
          <p><a href={`/paper?place=${place.code}`}>{S.pages.paper.name}</a></p>
        </div>
      </div>
    </>
  );
}

export default function PlaceScreen({ params: { id = '' } }: ScreenProps) {
  const answer = useAnswer(`place ${id}`, () => client.GET('/api/v1/places/{id}', { params: { path: { id } } }));
  return (
    <Shown answer={answer} title={S.places.title}>
      {(place) => <Whole place={place} />}
    </Shown>
  );
}
