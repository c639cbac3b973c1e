// When to look at a lot, and what if: controls that answer as they are moved.
import { useEffect, useRef, useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, settle } from '../api';
import type { components } from '../../build/api';
import { day, temperature } from '../format';
import { ChoiceField } from '../parts/form';
import { Heading, Shown } from '../parts/screen';
import { paths } from '../router';
import type { ScreenProps } from '../screens';
import { looksPlan as L } from '../strings/chance.en';
import { t, tn } from '../strings.en';

type Looks = components['schemas']['Looks'];
type LooksDate = components['schemas']['LooksDate'];
type Effort = components['schemas']['Effort'];
type Device = keyof typeof L.devices;

interface Way {
  every_days: number;
  effort: Effort;
  devices: Device[];
  temp_c: number | undefined;
  sealed: boolean;
}

const DAY_MS = 86_400_000;
const DEVICES = Object.keys(L.devices) as Device[];

function wayOf(looks: Looks): Way {
  const { every_days, effort, devices, is_sealed } = looks.options;
  return { every_days, effort, devices: [...devices], temp_c: undefined, sealed: is_sealed };
}

function queryOf(way: Way) {
  return {
    every_days: way.every_days,
    effort: way.effort,
    devices: way.devices.join(','),
    sealed: way.sealed ? ('true' as const) : ('false' as const),
    ...(way.temp_c === undefined ? {} : { temp_c: way.temp_c }),
  };
}

/** The date under a way of looking: asked for at most one at a time, the last one wins. */
function useDate(id: string, way: Way | undefined): LooksDate | undefined {
  const [date, setDate] = useState<LooksDate>();
  const asking = useRef(false);
  const next = useRef<Way | undefined>(undefined);
  useEffect(() => {
    next.current = way;
    const run = async () => {
      if (asking.current) return;
      asking.current = true;
      while (next.current) {
        const query = queryOf(next.current);
        next.current = undefined;
        const got = await settle(client.GET('/api/v1/lots/{id}/looks/date', { params: { path: { id }, query } }));
        if ('data' in got) setDate(got.data);
      }
      asking.current = false;
    };
    void run();
  }, [id, JSON.stringify(way)]);
  return date;
}

function difference(usual: string | null, then: string | null): string {
  if (usual === null || then === null) return usual === then ? L.same : '';
  const days = Math.round((Date.parse(usual) - Date.parse(then)) / DAY_MS);
  if (days === 0) return L.same;
  return days > 0 ? tn(L.sooner, days) : tn(L.later, -days);
}

function Slider({ label, said, value, least, most, onValue }: {
  label: string; said: string; value: number; least: number; most: number; onValue: (value: number) => void;
}) {
  return (
    <label class="slider">
      <span>{label} <b>{said}</b></span>
      <input type="range" min={least} max={most} step="1" value={value} aria-valuetext={said} onInput={(event) => onValue(Number(event.currentTarget.value))} />
    </label>
  );
}

function Answer({ looks, date }: { looks: Looks; date: LooksDate | undefined }) {
  const usual = looks.plan.release_on;
  return (
    <div class="then" role="status" aria-live="polite">
      <p class="kicker">{L.date}</p>
      <p class="then-date">{date?.release_text ?? looks.plan.release_text}</p>
      <p class="quiet">
        {t(L.usual, { date: looks.plan.release_text })}
        {date && difference(usual, date.release_on) && ` · ${difference(usual, date.release_on)}`}
      </p>
    </div>
  );
}

function Controls({ looks, way, onWay }: { looks: Looks; way: Way; onWay: (way: Way) => void }) {
  return (
    <div class="ways">
      <Slider label={L.every} said={tn(L.everyDays, way.every_days)} value={way.every_days} least={5} most={28} onValue={(every_days) => onWay({ ...way, every_days })} />
      <ChoiceField
        label={L.effort}
        value={way.effort}
        onValue={(effort) => onWay({ ...way, effort })}
        options={(['glance', 'careful', 'roots'] as const).map((value) => ({ value, label: L.efforts[value] }))}
      />
      <fieldset class="choices">
        <legend>{L.cards}</legend>
        <div class="choice-row">
          {DEVICES.map((device) => (
            <label key={device} class="choice">
              <input
                type="checkbox"
                checked={way.devices.includes(device)}
                onChange={(event) => onWay({
                  ...way,
                  devices: event.currentTarget.checked ? [...way.devices, device] : way.devices.filter((one) => one !== device),
                })}
              />
              <span>{L.devices[device]}</span>
            </label>
          ))}
        </div>
      </fieldset>
      <div class="choice-row">
        <label class="choice">
          <input type="checkbox" checked={way.temp_c !== undefined} onChange={(event) => onWay({ ...way, temp_c: event.currentTarget.checked ? 25 : undefined })} />
          <span>{L.warmChange}</span>
        </label>
        <label class="choice">
          <input type="checkbox" checked={way.sealed} onChange={(event) => onWay({ ...way, sealed: event.currentTarget.checked })} />
          <span>{L.sealed}</span>
        </label>
      </div>
      {way.temp_c !== undefined && (
        <Slider label={L.warm} said={temperature(way.temp_c)} value={way.temp_c} least={10} most={32} onValue={(temp_c) => onWay({ ...way, temp_c })} />
      )}
      <button type="button" onClick={() => onWay(wayOf(looks))}>{L.reset}</button>
    </div>
  );
}

function Plan({ looks }: { looks: Looks }) {
  const { plan } = looks;
  return (
    <section aria-labelledby="plan">
      <h2 id="plan">{L.plan}</h2>
      <p>{plan.text}</p>
      <ul class="lines bare">
        {plan.days.filter((one) => one.is_look && plan.release_on !== null).map((one) => (
          <li key={one.on} class="line">
            <div>
              <b>{day(one.on)}</b>
              <p class="quiet">{one.missed_release_on === null ? L.missedNever : t(L.missed, { date: day(one.missed_release_on) })}</p>
            </div>
          </li>
        ))}
      </ul>
    </section>
  );
}

function Whole({ looks }: { looks: Looks }) {
  const [way, setWay] = useState<Way>(wayOf(looks));
  const date = useDate(looks.lot.id, way);
  const title = t(L.title, { lot: looks.lot.name });
  return (
    <>
      <p class="back"><a href={paths.lot(looks.lot.code)}>{looks.lot.name}</a></p>
      <div class="head">
        <p class="kicker">{L.kicker}</p>
        <Heading title={title}>{title}</Heading>
      </div>
      <div class="two">
        <section aria-labelledby="ways">
          <h2 id="ways">{L.ways}</h2>
          <p class="quiet">{L.waysNote}</p>
          <Answer looks={looks} date={date} />
          <Controls looks={looks} way={way} onWay={setWay} />
          {date && date.plants.length > 0 && way.temp_c !== undefined && (
            <>
              <h3>{t(L.plants, { temp: temperature(way.temp_c) })}</h3>
              <ul class="reasons">{date.plants.map((plant) => <li key={plant.lot.id}>{plant.text}</li>)}</ul>
            </>
          )}
        </section>
        <div>
          <Plan looks={looks} />
          <section aria-labelledby="examine">
            <h2 id="examine">{L.examine}</h2>
            <p>{looks.examine.text}</p>
          </section>
          <section aria-labelledby="whatifs">
            <h2 id="whatifs">{L.whatIfs}</h2>
            <ul class="reasons">
              {looks.what_ifs.filter((what) => what.applies).map((what) => <li key={what.kind}>{what.text}</li>)}
            </ul>
          </section>
        </div>
      </div>
    </>
  );
}

export default function LooksScreen({ params: { id = '' } }: ScreenProps) {
  const answer = useAnswer(`looks ${id}`, () => client.GET('/api/v1/lots/{id}/looks', { params: { path: { id } } }));
  return (
    <Shown answer={answer} title={L.plan}>
      {(looks) => <Whole looks={looks} />}
    </Shown>
  );
}
