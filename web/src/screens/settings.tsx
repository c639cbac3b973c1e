// Settings: of the room (events, so that they can be undone), of this computer, of this browser. A phone sees them.
import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, refusal, type Schemas } from '../api';
import { Field, Form, SelectField, TextField, type Problems } from '../parts/form';
import { LookFields } from '../parts/lookfields';
import { useNames } from '../parts/pick';
import { Heading, Shown } from '../parts/screen';
import { day } from '../format';
import { once, useRecord } from '../record/use';
import { useIsDevice } from '../session';
import { t } from '../strings.en';
import { settings as G } from '../strings/settings.en';

type Settings = Schemas['Settings'];
interface Part { now: Settings; isReadOnly: boolean; again: () => void }

function Section({ id, title, children }: { id: string; title: string; children: ComponentChildren }) {
  return (
    <section aria-labelledby={id}>
      <h2 id={id}>{title}</h2>
      {children}
    </section>
  );
}

function Facts({ list }: { list: readonly (readonly [string, string])[] }) {
  return (
    <dl class="facts set-list">
      {list.map(([name, value]) => <div key={name}><dt>{name}</dt><dd>{value}</dd></div>)}
    </dl>
  );
}

/** What an event of the room's settings must say again, so that nothing else changes. */
const same = (now: Settings) => ({ round_weekday: now.round_weekday, round_effort: now.round_effort });

/** UTC+01:00 */
function offsetText(minutes: number): string {
  const two = (n: number) => String(Math.floor(n)).padStart(2, '0');
  return `${minutes < 0 ? '−' : '+'}${two(Math.abs(minutes) / 60)}:${two(Math.abs(minutes) % 60)}`;
}

function Room({ now, isReadOnly }: Part) {
  const names = useNames();
  const { record } = useRecord();
  const [name, setName] = useState(now.name);
  const [weekday, setWeekday] = useState(String(now.round_weekday));
  const [effort, setEffort] = useState(now.round_effort);
  const [problem, setProblem] = useState<string>();
  const efforts = (names.data?.words.effort ?? [{ word: now.round_effort, text: now.round_effort }]).map(({ word, text }) => ({ value: word, label: text }));
  const days = G.weekdays.map((label, k) => ({ value: String(k), label }));
  const offset = <p class="quiet">{t(G.offset, { offset: offsetText(now.tz_offset_min) })}</p>;
  if (isReadOnly) {
    const effortText = efforts.find(({ value }) => value === now.round_effort)?.label ?? now.round_effort;
    return (
      <>
        <Facts list={[[G.name, now.name], [G.roundDay, G.weekdays[now.round_weekday] ?? ''], [G.effort, effortText]]} />
        {offset}
      </>
    );
  }
  const submit = async (): Promise<Problems> => {
    const missing = name.trim() ? undefined : G.nameMissing;
    setProblem(missing);
    if (missing) return { name: missing };
    await record(G.toldRoom, [{ kind: 'room_set', body: { name: name.trim(), round_weekday: Number(weekday), round_effort: effort } }]);
    return {};
  };
  return (
    <Form onSubmit={submit} submit={G.keep}>
      <TextField label={G.name} value={name} onValue={setName} problem={problem} />
      <SelectField label={G.roundDay} hint={G.roundDayHint} value={weekday} onValue={setWeekday} options={days} />
      <SelectField label={G.effort} hint={G.effortHint} value={effort} onValue={setEffort} options={efforts} />
      {offset}
    </Form>
  );
}

function DayField({ label, value, onValue, problem }: { label: string; value: string; onValue: (value: string) => void; problem: string | undefined }) {
  return (
    <Field label={label} problem={problem}>
      {(ties) => <input type="date" {...ties} value={value} onInput={(event) => onValue(event.currentTarget.value)} />}
    </Field>
  );
}

function awayText(now: Settings): string {
  const { away_from_on: from, away_until_on: until } = now;
  if (!from || !until || until <= now.today_on) return G.notAway;
  return now.is_away ? t(G.isAway, { until: day(until) }) : t(G.willBeAway, { from: day(from), until: day(until) });
}

function Away({ now, isReadOnly }: Part) {
  const { record } = useRecord();
  const [from, setFrom] = useState(now.today_on);
  const [until, setUntil] = useState('');
  const [problems, setProblems] = useState<Problems>({});
  const isPlanned = (now.away_until_on ?? '') > now.today_on;
  const submit = async (): Promise<Problems> => {
    const found: Problems = {
      from: from ? undefined : G.awayMissing,
      until: !until ? G.awayMissing : until <= from ? G.awayOrder : undefined,
    };
    setProblems(found);
    if (found.from || found.until) return found;
    const what = t(G.toldAway, { from: day(from), until: day(until) });
    await record(what, [{ kind: 'room_set', body: { ...same(now), away_from: from, away_until: until } }]);
    setUntil('');
    return {};
  };
  const back = once(() => {
    const began = (now.away_from_on ?? '') < now.today_on ? now.away_from_on : now.today_on;
    void record(G.toldBack, [{ kind: 'room_set', body: { ...same(now), away_from: began, away_until: now.today_on } }]);
  });
  return (
    <>
      <p>{awayText(now)}</p>
      {!isReadOnly && isPlanned && <button type="button" onClick={back}>{G.back}</button>}
      {!isReadOnly && !isPlanned && (
        <>
          <p class="quiet">{G.awayText}</p>
          <Form onSubmit={submit} submit={G.awaySet}>
            <div class="field-row">
              <DayField label={G.awayFrom} value={from} onValue={setFrom} problem={problems.from} />
              <DayField label={G.awayUntil} value={until} onValue={setUntil} problem={problems.until} />
            </div>
          </Form>
        </>
      )}
    </>
  );
}

function zones(): string[] {
  const intl = Intl as typeof Intl & { supportedValuesOf?: (key: string) => string[] };
  return intl.supportedValuesOf?.('timeZone') ?? [];
}

function Calendar({ now, isReadOnly, again }: Part) {
  const [zone, setZone] = useState(now.zone ?? '');
  const [time, setTime] = useState(now.round_time);
  const [problems, setProblems] = useState<Problems>({});
  const [said, setSaid] = useState('');
  const feed = <p>{now.is_feed_open ? G.feedOpen : G.feedShut}{!isReadOnly && <> <a href="/paper">{G.feedLink}</a></>}</p>;
  if (isReadOnly) return <><Facts list={[[G.zone, now.zone ?? G.zoneNone], [G.time, now.round_time]]} />{feed}</>;
  const submit = async (): Promise<Problems> => {
    const bad = /^([01]?\d|2[0-3]):[0-5]\d$/.test(time) ? undefined : G.timeBad;
    const body = { zone: zone.trim() || null, round_time: time.padStart(5, '0') };
    const refused = bad ? undefined : await refusal(client.PUT('/api/v1/settings/calendar', { body }));
    const found: Problems = { time: bad, zone: refused };
    setProblems(found);
    setSaid(bad || refused ? '' : G.kept);
    if (!bad && !refused) again();
    return found;
  };
  return (
    <>
      <Form onSubmit={submit} submit={G.keep}>
        <TextField label={G.zone} hint={G.zoneHint} isOptional value={zone} onValue={setZone} suggestions={zones()} problem={problems.zone} />
        <TextField label={G.time} value={time} onValue={setTime} problem={problems.time} />
      </Form>
      <p role="status">{said}</p>
      {feed}
    </>
  );
}

function Labels({ now, isReadOnly, again }: Part) {
  const [url, setUrl] = useState(now.labels_url);
  const [problem, setProblem] = useState<string>();
  const [said, setSaid] = useState('');
  if (isReadOnly) return <Facts list={[[G.labelsUrl, now.labels_url]]} />;
  const submit = async (): Promise<Problems> => {
    const refused = await refusal(client.PUT('/api/v1/settings/labels', { body: { url: url.trim() } }));
    setProblem(refused);
    setSaid(refused ? '' : G.kept);
    if (!refused) again();
    return { url: refused };
  };
  return (
    <>
      <Form onSubmit={submit} submit={G.keep}>
        <TextField label={G.labelsUrl} hint={G.labelsHint} isOptional value={url} onValue={setUrl} problem={problem} />
      </Form>
      <p role="status">{said}</p>
    </>
  );
}

export default function SettingsScreen() {
  const answer = useAnswer('settings', () => client.GET('/api/v1/settings'));
  const room = useAnswer('room', () => client.GET('/api/v1/room'));
  const isReadOnly = useIsDevice();
  const [, redraw] = useState(0);
  return (
    <Shown answer={answer} title={G.title}>
      {(now) => {
        const part = { now, isReadOnly, again: answer.again };
        const fresh = JSON.stringify(now);
        return (
          <div class="column">
            <Heading title={G.title}>{G.title}</Heading>
            <p class="lead">{isReadOnly ? G.readOnly : G.lead}</p>
            {room.data?.is_demo && (
              <Section id="demo" title={G.demo}>
                <p>{G.demoText}</p>
                {G.demoCommands.map((line) => <p key={line}><code>{line}</code></p>)}
                <p>{G.demoAfter}</p>
              </Section>
            )}
            <Section id="room" title={G.room}><Room key={`${fresh}room`} {...part} /></Section>
            <Section id="away" title={G.away}><Away key={`${fresh}away`} {...part} /></Section>
            <Section id="calendar" title={G.calendar}><Calendar {...part} /></Section>
            <Section id="labels" title={G.labels}><Labels {...part} /></Section>
            <Section id="alarm" title={G.alarm}>
              <p>{now.has_bell ? G.bell : G.noBell}</p>
              <p>{now.alarm_command ? t(G.command, { command: now.alarm_command }) : G.noCommand}</p>
            </Section>
            <Section id="browser" title={G.browser}><LookFields onUnits={() => redraw((n) => n + 1)} /></Section>
            <Section id="devices" title={G.devices}>
              <p class="acts">
                <a class="button" href="/devices">{G.devicesLink}</a>
                {!isReadOnly && <a class="button" href="/phone">{G.pairLink}</a>}
                <a href="/paper">{G.paperLink}</a>
              </p>
            </Section>
          </div>
        );
      }}
    </Shown>
  );
}
