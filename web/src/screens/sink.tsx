// At the sink: one action at a time, with wet hands. What comes next, and what is recorded, is the server's
// answer; times are its timers'.
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, settle, type Schemas } from '../api';
import { CheckField, ChoiceField } from '../parts/form';
import { Heading, Shown } from '../parts/screen';
import { newId, type Draft } from '../record/event';
import { once, useRecord } from '../record/use';
import { paths } from '../router';
import { S, t } from '../strings.en';
import { sink as W } from '../strings/sink.en';
import { dropAlarm, hasSound, isAwake, isSet, keepAwake, setAlarm, shake, soundOn, tryAlarm } from './sinkalarm';

type Evening = Schemas['Evening'];
type Item = Schemas['EveningItem'];
type Timers = Schemas['Timers'];
type Timer = Timers['timers'][number];

const TUBS_KEY = 'fernlock.tubs';
const clock = (at: string) => new Date(at).toLocaleTimeString(undefined, { hour: '2-digit', minute: '2-digit' });
const round = (n: number, digits = 2) => Number(n.toPrecision(digits)).toLocaleString();
const named = (item: Item) => (item.lot ? `${item.text}: ${item.lot.name}` : item.text);
const keyOf = (item: Item) => `${item.job} ${item.lot?.id ?? ''} ${item.tub ?? ''}`;

function minutes(s: number): string {
  const whole = Math.abs(Math.trunc(s));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}

/** The server's timers, asked every two seconds; what passed since then by this device's steady clock. */
function useTimers(): { timers: Timers | undefined; left: (timer: Timer) => number; isLost: boolean; again: () => void } {
  const [timers, setTimers] = useState<Timers>();
  const [isLost, setLost] = useState(false);
  const askedMs = useRef(performance.now());
  const [, tick] = useState(0);
  const ask = useRef(async () => {
    const from = performance.now();
    const answer = await settle(client.GET('/api/v1/timers'));
    setLost('trouble' in answer);
    if ('trouble' in answer) return;
    askedMs.current = (from + performance.now()) / 2;
    setTimers(answer.data);
  });
  useEffect(() => {
    const again = () => void ask.current();
    again();
    const polled = setInterval(() => document.visibilityState === 'visible' && again(), 2_000);
    const drawn = setInterval(() => tick((n) => n + 1), 500);
    for (const name of ['visibilitychange', 'pageshow', 'focus']) window.addEventListener(name, again);
    return () => {
      clearInterval(polled);
      clearInterval(drawn);
      for (const name of ['visibilitychange', 'pageshow', 'focus']) window.removeEventListener(name, again);
    };
  }, []);
  const left = (timer: Timer) => timer.left_s - (performance.now() - askedMs.current) / 1000;
  return { timers, left, isLost, again: () => void ask.current() };
}

/** Says a timer's turns to those who listen, keeps the tones set and the title told. */
function useAlarms(timers: Timers | undefined, left: (timer: Timer) => number): { polite: string; urgent: string } {
  const [said, say] = useState({ polite: '', urgent: '' });
  const told = useRef(new Map<string, number>());
  const list = timers?.timers ?? [];
  const over = list.filter((timer) => left(timer) <= 0);
  useEffect(() => {
    keepAwake(list.length > 0);
    return () => keepAwake(false);
  }, [list.length > 0]);
  useEffect(() => {
    for (const timer of list) {
      const s = left(timer);
      const stage = s <= 0 ? 3 : s <= 10 ? 2 : s <= 60 ? 1 : 0;
      const before = told.current.get(timer.run_id) ?? -1;
      if (hasSound() && !isSet(timer.run_id) && s > 0) setAlarm(timer.run_id, s);
      if (stage <= before) continue;
      told.current.set(timer.run_id, stage);
      const what = timer.step_text;
      if (stage === 3) {
        shake();
        say({ polite: '', urgent: t(W.overSaid, { what }) });
      } else if (stage > 0 || before === -1) {
        const text = stage === 0 ? t(W.startSaid, { what, n: Math.round(timer.planned_s / 60) })
          : t(stage === 1 ? W.minuteSaid : W.tenSaid, { what });
        say({ polite: text, urgent: '' });
      }
    }
  });
  useEffect(() => {
    document.title = over.length > 0 ? `⏰ ${W.isOver} · ${S.app}` : `${W.title} · ${S.app}`;
  }, [over.length > 0]);
  return said;
}

function Standing({ timer, left }: { timer: Timer; left: number }) {
  const isOver = left <= 0;
  return (
    <li class={isOver ? 'stand over' : 'stand'}>
      <p class="stand-time" role="timer" aria-live="off">
        <span aria-hidden="true">{isOver ? '▲' : '◷'}</span> {t(isOver ? W.over : W.leftOf, { time: minutes(left) })}
      </p>
      <p>
        {timer.step_text}{timer.tub && `, ${timer.tub}`}: {timer.lots.map((lot) => lot.name).join(', ')}{' '}
        <span class="quiet">{t(W.due, { at: clock(timer.due_at) })}</span>
      </p>
      {timer.missed_text && <p class="attention">{timer.missed_text}</p>}
    </li>
  );
}

function Live({ timers, isLost }: { timers: Timers | undefined; isLost: boolean }) {
  const [, redraw] = useState(0);
  return (
    <section aria-labelledby="sink-alarms">
      <h2 id="sink-alarms">{W.alarms}</h2>
      <ul class="dots">
        {timers && <li>{timers.alarm.text}</li>}
        <li>{hasSound() ? W.live.sound : W.live.noSound}</li>
        <li>{isAwake() ? W.live.wake : W.live.noWake}</li>
        {isLost && <li class="attention">{W.live.lost}</li>}
      </ul>
      <p><button type="button" onClick={() => { tryAlarm(); redraw((n) => n + 1); }}>{W.soundOn}</button></p>
    </section>
  );
}

function Recipe({ data }: { data: Evening }) {
  if (!data.has_dip) return null;
  const { recipe } = data;
  if (!recipe) return <section><h2>{W.recipe}</h2><p>{data.no_recipe_text}</p></section>;
  return (
    <section>
      <h2>{W.recipe}</h2>
      <p class="lead">{t(W.recipeText, { product: round(recipe.product_ml, 3), water: round(recipe.water_ml, 3) })}</p>
      <p>{t(W.recipeUs, { oz: round(recipe.product_us_fl_oz), gal: round(recipe.water_us_gal, 3) })}</p>
      <p>{t(W.recipeIn, {
        mid: round(recipe.chlorine_mg_per_l), low: round(recipe.chlorine_low_mg_per_l),
        high: round(recipe.chlorine_high_mg_per_l), pct: round(recipe.strength_now_pct),
      })}</p>
      {recipe.should_replace && <p class="attention">{W.replace}</p>}
      {data.thiosulfate_pentahydrate_mg !== null && <p>{t(W.thio, { mg: round(data.thiosulfate_pentahydrate_mg) })}</p>}
      <ul class="dots">{recipe.cautions.map((text) => <li key={text}>{text}</li>)}</ul>
    </section>
  );
}

function Sheet({ data }: { data: Evening }) {
  return (
    <details>
      <summary>{W.sheet}</summary>
      <table>
        <thead><tr><th scope="col">{W.time}</th><th scope="col">{W.what}</th><th scope="col">{W.which}</th></tr></thead>
        <tbody>
          {data.items.map((item, k) => (
            <tr key={k}>
              <td>{clock(item.start_at)}</td>
              <td>{item.text}{item.tub !== null && item.job === 'step' && `, ${t(W.inTub, { n: item.tub })}`}</td>
              <td>{item.lot && <a href={paths.lot(item.lot.code)}>{item.lot.name}</a>}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}

function Now({ item, data, timer, left, tick }: { item: Item; data: Evening; timer: Timer | undefined; left: number; tick: (key: string) => void }) {
  const { record, recordTogether } = useRecord();
  const [prills, setPrills] = useState<'' | keyof typeof W.prillsWords>('');
  const what = named(item);
  const stands = item.hands_until_at !== item.end_at;
  const runs = item.state === 'runs';
  const tell = (text: string, drafts: Draft[]) => { tick(''); void record(t(text, { what }), drafts); };
  const start = once(() => {
    const run = newId();
    soundOn(); // inside the tap
    if (stands && item.planned_s !== null) setAlarm(run, item.planned_s);
    tell(W.toldStart, [{ kind: 'step_started', body: { run, step: item.record_step, planned_s: item.planned_s } }]);
  });
  const isStrip = item.step === 'strip';
  const finish = once(() => {
    if (item.run_id) dropAlarm(item.run_id);
    const step = isStrip && prills ? { ...item.record_step, prills } : item.record_step;
    tell(W.toldDone, [{ kind: 'step_done', body: { run: item.run_id, steps: [step] } }]);
  });
  const stop = once(() => {
    if (item.run_id) dropAlarm(item.run_id);
    tell(W.toldStop, [{ kind: 'step_abandoned', body: { run: item.run_id } }]);
  });
  const tubs = Array.from({ length: data.tubs }, (_, k) => k + 1).filter((n) => !data.tubs_lost.includes(n)).map((n) => `tub ${n}`);
  const parts = item.record_cleaned ? [item.record_cleaned] : item.job === 'disinfect_tubs' ? tubs : [];
  const clean = once(() => {
    const bench = data.bench?.id;
    tick(keyOf(item)); // the sheet lists closing up until the sink is recorded
    if (parts.length > 0 && bench) {
      void recordTogether(t(W.toldClean, { what }), parts.map((part) => ({ kind: 'place_cleaned', body: { place: bench, agent: 'bleach', part } })));
    }
  });
  return (
    <section class="sink-now big" aria-labelledby="sink-now">
      <h2 id="sink-now">{item.text}</h2>
      <p class="lead">{item.lot ? item.lot.name : ''}{item.tub !== null && item.job === 'step' && ` · ${t(W.inTub, { n: item.tub })}`}</p>
      {runs && timer && (
        <p class="stand-time" role="timer" aria-live="off">{t(left <= 0 ? W.over : W.leftOf, { time: minutes(left) })}</p>
      )}
      {item.job !== 'step' && <button type="button" class="big main-act" onClick={clean}>{W.tick}</button>}
      {item.job === 'step' && !runs && <button type="button" class="big main-act" onClick={start}>{stands ? W.putIn : W.start}</button>}
      {isStrip && runs && (
        <ChoiceField isBig label={W.prills} value={prills} onValue={setPrills}
          options={(Object.keys(W.prillsWords) as (keyof typeof W.prillsWords)[]).map((value) => ({ value, label: W.prillsWords[value] }))} />
      )}
      {item.job === 'step' && runs && <button type="button" class="big main-act" onClick={finish}>{stands ? W.takeOut : W.done}</button>}
      {item.job === 'step' && runs && <button type="button" class="big" onClick={stop}>{W.stop}</button>}
      {item.cautions.length > 0 && (
        <div class="sink-cautions">
          <h3>{W.cautions}</h3>
          <ul class="dots">{item.cautions.map((text) => <li key={text}>{text}</li>)}</ul>
          <p>{W.help}</p>
        </div>
      )}
      {(item.reason_text || item.how_text) && (
        <details><summary>{W.why}</summary>{item.reason_text && <p>{item.reason_text}</p>}{item.how_text && <p>{item.how_text}</p>}</details>
      )}
    </section>
  );
}

/** What hands do now: what is over, what they are at, else the next line that nobody ticked off. */
function nextOf(data: Evening, overRuns: Set<string>, ticked: Set<string>): Item | undefined {
  const runs = data.items.filter((item) => item.state === 'runs');
  return runs.find((item) => item.run_id !== null && overRuns.has(item.run_id))
    ?? runs.find((item) => item.hands_until_at === item.end_at)
    ?? data.items.find((item) => item.state !== 'runs' && item.job !== 'disinfectant_stands' && !ticked.has(keyOf(item)))
    ?? runs[0];
}

function Tonight({ data, tubs, setTubs }: { data: Evening; tubs: { n: number; lost: number[] }; setTubs: (to: { n: number; lost: number[] }) => void }) {
  const { timers, left, isLost } = useTimers();
  const said = useAlarms(timers, left);
  const { recordTogether } = useRecord();
  const [ticked, setTicked] = useState<Set<string>>(new Set());
  const list = timers?.timers ?? [];
  const overRuns = new Set(list.filter((timer) => left(timer) <= 0).map((timer) => timer.run_id));
  const item = nextOf(data, overRuns, ticked);
  const timer = list.find((one) => one.run_id === item?.run_id);
  const tick = (key: string) => setTicked((old) => (key === '' ? new Set() : new Set([...old, key])));
  const all = once(() => {
    void recordTogether(W.toldAll, data.as_planned.map((one) => ({ kind: one.kind, occurredAt: one.occurred_at, body: one.body })));
  });
  const counts = useMemo(() => [1, 2, 3, 4, 5, 6, 7, 8], []);
  return (
    <>
      <p class="lead">
        {data.left_text && t(data.begun_at ? W.left : W.whole, { span: data.left_text })}
        {data.left_text && `, ${t(W.between, { from: clock(data.finish_low_at), to: clock(data.finish_high_at) })}`}
      </p>
      <p class="hidden" role="status">{said.polite}</p>
      <p class="hidden" role="alert">{said.urgent}</p>
      {item && <Now key={`${keyOf(item)} ${item.state}`} item={item} data={data} timer={timer} left={timer ? left(timer) : 0} tick={tick} />}
      {list.length > 0 && (
        <section aria-labelledby="sink-standing">
          <h2 id="sink-standing">{W.running}</h2>
          <ul class="bare">{list.map((one) => <Standing key={one.run_id} timer={one} left={left(one)} />)}</ul>
        </section>
      )}
      {data.as_planned.length > 0 && (
        <section class="big">
          <button type="button" class="big" onClick={all}>{W.all}</button>
          <p class="quiet">{t(W.allAbout, { n: data.as_planned.length })}</p>
        </section>
      )}
      <Recipe data={data} />
      <Live timers={timers} isLost={isLost} />
      <fieldset>
        <legend>{W.tubs}</legend>
        <select aria-label={W.tubs} value={String(tubs.n)} onChange={(event) => setTubs({ n: Number(event.currentTarget.value), lost: [] })}>
          {counts.map((n) => <option key={n} value={String(n)}>{n}</option>)}
        </select>
        {counts.slice(0, tubs.n).map((n) => (
          <CheckField
            key={n} label={t(W.lost, { n })} isChecked={!tubs.lost.includes(n)}
            onChecked={(is) => {
              if (is) setTubs({ ...tubs, lost: tubs.lost.filter((one) => one !== n) });
              else if (tubs.lost.length < tubs.n - 1) setTubs({ ...tubs, lost: [...tubs.lost, n] });
            }}
          />
        ))}
      </fieldset>
      {data.set_aside.length > 0 && (
        <section>
          <h2>{W.aside}</h2>
          <ul class="dots">
            {data.set_aside.map(({ lot, verdict_text, verdict_why }) => (
              <li key={lot.id}><a href={paths.lot(lot.code)}>{lot.name}</a>: {verdict_text}. {verdict_why}</li>
            ))}
          </ul>
        </section>
      )}
      <Sheet data={data} />
    </>
  );
}

export default function SinkScreen() {
  const [tubs, setTubs] = useState<{ n: number; lost: number[] }>(() => {
    try {
      return JSON.parse(localStorage.getItem(TUBS_KEY) ?? '') as { n: number; lost: number[] };
    } catch {
      return { n: 2, lost: [] };
    }
  });
  const keep = (to: { n: number; lost: number[] }) => {
    localStorage.setItem(TUBS_KEY, JSON.stringify(to));
    setTubs(to);
  };
  const query = { tubs: tubs.n, ...(tubs.lost.length > 0 ? { lost: tubs.lost.join(',') } : {}) };
  const answer = useAnswer(`evening ${JSON.stringify(query)}`, () => client.GET('/api/v1/evening', { params: { query } }));
  return (
    <Shown answer={answer} title={W.title}>
      {(data) => (
        <div class="column">
          <Heading title={W.title}>{W.title}</Heading>
          {data.items.length === 0 && data.set_aside.length === 0
            ? <div class="empty"><p class="lead">{W.none}</p><p>{W.noneText}</p></div>
            : <Tonight data={data} tubs={tubs} setTubs={keep} />}
        </div>
      )}
    </Shown>
  );
}
