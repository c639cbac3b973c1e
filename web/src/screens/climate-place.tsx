// One place: what its logger measured, its air, light and water, and what is told of its lamp.
import { useState } from 'preact/hooks';
import type { components } from '../../build/api';
import { useAnswer } from '../answer';
import { client, settle } from '../api';
import { day, temperature } from '../format';
import { Form, NumberField, readNumber } from '../parts/form';
import { Heading, Shown } from '../parts/screen';
import { Series } from '../parts/series';
import { useRecord } from '../record/use';
import type { ScreenProps } from '../screens';
import { climate as C } from '../strings/climate.en';
import { t } from '../strings.en';

type Place = components['schemas']['ClimatePlace'];
type Told = Place['told'];

const P = C.place;
const SPANS = ['7', '30', '90', '0'] as const;

const one = (value: number | null, unit: string, digits = 1) => (value === null ? P.nothing : `${value.toFixed(digits)} ${unit}`);

function Charts({ place, days }: { place: Place; days: string }) {
  const id = place.place.code;
  const query = days === '0' ? {} : { days: Number(days) };
  const answer = useAnswer(`readings ${id} ${days}`, () => client.GET('/api/v1/places/{id}/readings', { params: { path: { id }, query } }));
  return (
    <>
      <nav class="spans-nav" aria-label={P.span}>
        {SPANS.map((span) => <a key={span} href={`/climate/${encodeURIComponent(id)}?days=${span}`} aria-current={span === days ? 'true' : undefined}>{P.spans[span]}</a>)}
      </nav>
      {answer.data && <><Series key={`t${days}`} chart={answer.data} which="temp" /><Series key={`h${days}`} chart={answer.data} which="rh" /></>}
      {answer.trouble && !answer.data && <p class="quiet">{answer.trouble.detail}</p>}
    </>
  );
}

function Air({ place }: { place: Place }) {
  const { air } = place;
  if (air.temp_mean_c === null) return null;
  const range = (mean: number | null, least: number | null, greatest: number | null, unit: string) =>
    mean === null ? P.nothing : t(P.range, { mean: `${mean.toFixed(1)} ${unit}`, least: (least ?? 0).toFixed(1), greatest: (greatest ?? 0).toFixed(1) });
  return (
    <section aria-labelledby="air">
      <h2 id="air">{P.air}</h2>
      <dl class="facts pairs">
        <dt>{P.airRows.temp}</dt><dd>{range(air.temp_mean_c, air.temp_min_c, air.temp_max_c, '°C')}</dd>
        <dt>{P.airRows.rh}</dt><dd>{range(air.rh_mean_pct, air.rh_min_pct, air.rh_max_pct, '%')}</dd>
        <dt>{P.airRows.vpd}</dt><dd>{one(air.vpd_mean_kpa, 'kPa', 2)}</dd>
        <dt>{P.airRows.dew}</dt><dd>{one(air.dew_point_c, '°C')}</dd>
        <dt>{P.airRows.ah}</dt><dd>{one(air.absolute_humidity_g_m3, 'g/m³')}</dd>
        <dt>{P.airRows.room}</dt><dd>{air.room_c === null ? P.nothing : temperature(air.room_c)}</dd>
        <dt>{P.airRows.lid}</dt><dd>{air.is_lid_wet ? P.lidWet : P.lidDry}</dd>
        {air.warmer_than_room_k !== null && <><dt>{P.airRows.warmer}</dt><dd>{air.warmer_than_room_k.toFixed(1)} K</dd></>}
      </dl>
    </section>
  );
}

function Light({ place }: { place: Place }) {
  const { light } = place;
  return (
    <section aria-labelledby="light">
      <h2 id="light">{P.light}</h2>
      <p>{t(P.lightText, { lux: Math.round(light.lux ?? 0), ppfd: Math.round(light.ppfd_umol_m2_s ?? 0), hours: light.hours ?? 0, dli: (light.dli_mol_m2_d ?? 0).toFixed(1), how: light.basis_text })}</p>
      <p class="quiet">{t(P.factor, { k: light.lux_per_umol ?? 70, source: light.lux_per_umol_source })}</p>
      {place.plants.length > 0 && <h3>{P.plants}</h3>}
      <ul class="plain">
        {place.plants.map((plant) => (
          <li key={plant.lot.id}>
            <b>{plant.name}: {plant.state_text}</b>.{' '}
            <span class="quiet">
              {plant.band
                ? t(P.plantBand, { low: plant.band.low_mol_m2_d.toFixed(1), high: plant.band.high_mol_m2_d.toFixed(1), source: plant.source_text ?? '' })
                : P.plantUnknown}
            </span>
          </li>
        ))}
      </ul>
    </section>
  );
}

const FIELDS = [
  ['lamp_lumens', P.lumens, '', 'lumens'], ['lamp_length_mm', P.strip, P.units.mm, 'length_mm'], ['lamp_height_mm', P.height, P.units.mm, 'height_mm'],
  ['lamp_hours', P.hours, P.units.hours, 'hours'], ['lamp_along_mm', P.along, P.units.mm, 'along_mm'], ['lamp_across_mm', P.across, P.units.mm, 'across_mm'],
  ['lamp_count', P.count, '', 'count'],
] as const;
const OTHERS = [['light_lux', P.lux, P.units.lux], ['mix_l', P.mix, P.units.litres], ['mat_watts', P.mat, P.units.watts]] as const;

/** The lamp as it was told, with what was typed laid over it; nothing when nothing of it was typed. */
function lampOf(told: Told, typed: Record<string, number>): Record<string, unknown> {
  if (!FIELDS.some(([key]) => key in typed)) return {};
  const lamp: Record<string, unknown> = {
    lamp: told.lamp.lamp ?? 'white_led', lamp_spacing_mm: told.lamp.spacing_mm, lamp_watts: told.lamp.watts, lamp_lux_per_umol: told.lamp.lux_per_umol,
  };
  for (const [key, , , now] of FIELDS) lamp[key] = typed[key] ?? told.lamp[now];
  return lamp;
}

function TellLight({ place }: { place: Place }) {
  const recorder = useRecord();
  const [typed, setTyped] = useState<Record<string, string>>({});
  const [problems, setProblems] = useState<Record<string, string | undefined>>({});
  const { told } = place;
  const field = (key: string, label: string, unit: string, now: number | null) => (
    <NumberField
      key={key} label={label} unit={unit || undefined} isOptional problem={problems[key]} value={typed[key] ?? ''}
      hint={now ? String(now) : undefined} onValue={(value) => setTyped((old) => ({ ...old, [key]: value }))}
    />
  );
  const submit = async (): Promise<Record<string, string | undefined>> => {
    const values: Record<string, number> = {};
    const wrong: Record<string, string | undefined> = {};
    for (const [key] of [...FIELDS, ...OTHERS]) {
      const isOffset = key === 'lamp_along_mm' || key === 'lamp_across_mm';
      const { value, problem } = readNumber(typed[key] ?? '', { least: isOffset ? -1e6 : 0, most: 1e6, isWhole: key === 'lamp_count' });
      if (problem) wrong[key] = problem;
      else if (value !== undefined) values[key] = value;
    }
    setProblems(wrong);
    if (Object.keys(wrong).length > 0 || Object.keys(values).length === 0) return wrong;
    const whole = await settle(client.GET('/api/v1/places/{id}', { params: { path: { id: place.place.id } } }));
    if ('trouble' in whole) return {};
    const { data } = whole;
    const rest = Object.fromEntries(OTHERS.flatMap(([key]) => (key in values ? [[key, values[key]]] : [])));
    await recorder.record(P.told, [{
      kind: 'place_set',
      body: {
        place: data.id, name: data.name, kind: data.kind, uses: data.uses, animals: data.animals ?? undefined, has_animals: data.has_animals, has_gasket: data.has_gasket,
        set_temp_c: data.set_temp_c ?? undefined, volume_l: data.volume_l ?? undefined, shelf: data.shelf ?? undefined, is_retired: data.is_retired,
        ...lampOf(told, values), ...rest,
      },
    }]);
    setTyped({});
    return {};
  };
  return (
    <details>
      <summary>{P.told}</summary>
      <p class="quiet">{P.toldHint}</p>
      <Form onSubmit={submit} submit={P.save}>
        {OTHERS.slice(0, 1).map(([key, label, unit]) => field(key, label, unit, told[key]))}
        {FIELDS.map(([key, label, unit, now]) => field(key, label, unit, told.lamp[now]))}
        {OTHERS.slice(1).map(([key, label, unit]) => field(key, label, unit, told[key]))}
      </Form>
    </details>
  );
}

function Whole({ place, days }: { place: Place; days: string }) {
  const { water } = place;
  const rank = place.rank as keyof typeof C.rank;
  const isTold = place.place.kind === 'bin' || place.place.kind === 'jar' || place.place.kind === 'open_spot';
  return (
    <>
      <div class="head">
        <p class="kicker"><a href="/climate">{P.back}</a></p>
        <Heading title={`${P.title}: ${place.place.name}`}>{place.place.name}</Heading>
      </div>
      <p class="lead"><span class={`badge ${rank}`}>{C.rank[rank]}</span> {place.text}</p>
      {place.advice.length > 0 && <ul class="plain">{place.advice.map((text) => <li key={text}>{text}</li>)}</ul>}
      <section aria-labelledby="charts">
        <h2 id="charts">{P.charts}</h2>
        <p><a class="button" href={`/climate/${encodeURIComponent(place.place.code)}/file`}>{P.take}</a></p>
        {place.air.last_reading_at === null ? <p>{P.noReadings}</p> : <Charts place={place} days={days} />}
      </section>
      <Air place={place} />
      {water && (
        <section aria-labelledby="water">
          <h2 id="water">{P.water}</h2>
          <p>{water.text}</p>
          <p class="quiet">{t(P.first, { mix: (water.mix_l ?? 0).toFixed(1), low: Math.round(water.first_low_ml ?? 0), high: Math.round(water.first_high_ml ?? 0) })}</p>
        </section>
      )}
      <Light place={place} />
      {isTold && <TellLight place={place} />}
      {place.told.reading_on && <p class="quiet">{day(place.told.reading_on)}</p>}
    </>
  );
}

export default function ClimatePlaceScreen({ params, query }: ScreenProps) {
  const id = params['id'] ?? '';
  const days = SPANS.find((span) => span === query.get('days')) ?? '30';
  const answer = useAnswer(`climate ${id}`, () => client.GET('/api/v1/places/{id}/climate', { params: { path: { id } } }));
  return <Shown answer={answer} title={P.title}>{(place) => <Whole place={place} days={days} />}</Shown>;
}
