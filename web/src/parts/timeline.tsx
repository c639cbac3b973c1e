// A lot on one line of time: where it stood, and what was done, seen and found there. A sentence says it, a table has
// the stays; the list of what happened below it has each moment in words.
import type { Lot } from '../api';
import { day } from '../format';
import { paths } from '../router';
import { timeline as T } from '../strings/timeline.en';
import { t, tn } from '../strings.en';
import { Shape } from './curve';

const W = 540;
const LEFT = 4;
const RIGHT = 14;
const ROW = 50;
const TOP = 20;
const BOTTOM = 34;
const ROWS_MAX = 7; // places; what stood in more shows the last ones

const ms = (at: string) => Date.parse(at);
type Stay = Lot['stays'][number];

interface Mark { kind: 'look' | 'step' | 'find'; at: string }

/** Looks, evenings and finds; several of one kind on one day are one mark. */
function marksOf(lot: Lot): Mark[] {
  const all: Mark[] = [
    ...lot.looks.map(({ at }) => ({ kind: 'look' as const, at })),
    ...lot.steps.map(({ at }) => ({ kind: 'step' as const, at })),
    ...lot.findings.filter((one) => !one.is_retracted).map(({ at }) => ({ kind: 'find' as const, at })),
  ];
  const byDay = new Map(all.map((mark) => [mark.kind + mark.at.slice(0, 10), mark]));
  return [...byDay.values()];
}

const within = (stay: Stay, at: string) => ms(at) >= ms(stay.from_at) && (stay.to_at === null || ms(at) <= ms(stay.to_at));
const nameOf = (stay: Stay) => stay.place?.name ?? T.nowhere;

function said(lot: Lot, marks: Mark[], places: number): string {
  const count = (kind: Mark['kind']) => marks.filter((mark) => mark.kind === kind).length;
  const last = lot.stays[lot.stays.length - 1];
  const where = last && last.to_at === null ? t(T.now, { place: nameOf(last), date: lot.stays.length > 1 ? day(last.from_on) : lot.arrived_text.replace(/^(in|on) /, '') }) : T.nowGone;
  return [where, tn(T.places, places), tn(T.looks, count('look')), count('find') ? tn(T.finds, count('find')) : T.noFinds].join(' ');
}

function Table({ lot, marks }: { lot: Lot; marks: Mark[] }) {
  return (
    <details>
      <summary>{T.table}</summary>
      <div class="table-box" tabIndex={0} role="region" aria-label={T.table}>
        <table>
          <thead><tr>{T.head.map((text) => <th key={text} scope="col">{text}</th>)}</tr></thead>
          <tbody>
            {lot.stays.map((stay) => {
              const here = marks.filter((mark) => within(stay, mark.at));
              const n = (kind: Mark['kind']) => here.filter((mark) => mark.kind === kind).length;
              return (
                <tr key={stay.from_at}>
                  <th scope="row">{stay.place ? <a href={paths.place(stay.place.code)}>{stay.place.name}</a> : T.nowhere}</th>
                  <td>{day(stay.from_on)}</td>
                  <td>{stay.to_on ? day(stay.to_on) : T.still}</td>
                  <td>{n('look')}</td>
                  <td>{n('step')}</td>
                  <td>{n('find')}</td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </div>
    </details>
  );
}

export function Timeline({ lot, nowAt }: { lot: Lot; nowAt: string }) {
  const stays = lot.stays;
  const first = stays[0];
  if (!first) return null;
  const marks = marksOf(lot);
  const last = stays[stays.length - 1];
  const to = last?.to_at ? ms(last.to_at) : ms(nowAt);
  // What was here for years is drawn from its first mark on: the years before say nothing.
  const firstMark = marks.length > 0 ? Math.min(...marks.map((mark) => ms(mark.at))) : to;
  const from = lot.origin === 'lot_already_here' && stays.length === 1 ? Math.max(ms(first.from_at), Math.min(firstMark, to - 60 * 86_400_000) - 7 * 86_400_000) : ms(first.from_at);
  const x = (at: number) => LEFT + ((Math.min(Math.max(at, from), to) - from) / Math.max(to - from, 1)) * (W - LEFT - RIGHT);
  const places = [...new Map(stays.map((stay) => [stay.place?.id ?? '', nameOf(stay)])).entries()].slice(-ROWS_MAX);
  const row = (id: string) => TOP + places.findIndex(([place]) => place === id) * ROW;
  const height = TOP + places.length * ROW + BOTTOM;
  const text = said(lot, marks, places.length);
  const middle = new Date((from + to) / 2).toISOString();
  const ends = [new Date(from).toISOString(), middle, new Date(to).toISOString()];
  const shown = stays.filter((stay) => places.some(([id]) => id === (stay.place?.id ?? '')));
  return (
    <figure class="odds timeline">
      <figcaption>{text}</figcaption>
      <svg viewBox={`0 0 ${W} ${height}`} role="img" aria-label={text}>
        {places.map(([id]) => <line key={id} class="grid-line" x1={LEFT} x2={W - RIGHT} y1={row(id) + 16} y2={row(id) + 16} />)}
        {shown.slice(1).map((stay, k) => {
          const before = shown[k];
          return before && (
            <line key={stay.from_at} class="moved" x1={x(ms(stay.from_at))} x2={x(ms(stay.from_at))} y1={row(before.place?.id ?? '') + 16} y2={row(stay.place?.id ?? '') + 16} />
          );
        })}
        {shown.map((stay) => {
          const end = stay.to_at ? ms(stay.to_at) : to;
          const at = x(ms(stay.from_at));
          const id = stay.place?.id ?? '';
          const isFirst = shown.find((one) => (one.place?.id ?? '') === id) === stay;
          const isLate = at > W * 0.6;
          return (
            <g key={stay.from_at}>
              <rect class="stay" x={at} y={row(id) + 7} width={Math.max(x(end) - at, 3)} height="18" />
              {isFirst && <text class="label" x={isLate ? W - RIGHT : at} y={row(id)} text-anchor={isLate ? 'end' : 'start'}>{nameOf(stay)}</text>}
            </g>
          );
        })}
        {marks.map((mark) => {
          const stay = [...shown].reverse().find((one) => within(one, mark.at));
          return stay && <Shape key={mark.kind + mark.at} kind={mark.kind} x={x(ms(mark.at))} y={row(stay.place?.id ?? '') + 16} />;
        })}
        {ends.map((at, k) => (
          <text key={k} class="label" x={x(ms(at))} y={height - 8} text-anchor={(['start', 'middle', 'end'] as const)[k] ?? 'middle'}>{day(at.slice(0, 10))}</text>
        ))}
      </svg>
      <ul class="odds-legend" aria-hidden="true">
        {(['step', 'look', 'find'] as const).map((kind) => (
          <li key={kind}><svg width="18" height="18"><Shape kind={kind} x={9} y={9} /></svg>{T.legend[kind]}</li>
        ))}
      </ul>
      <Table lot={lot} marks={marks} />
    </figure>
  );
}
