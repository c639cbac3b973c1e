// A family over time: each lot is a line from the day it came or was cut; where it was cut, its line leaves its
// mother's. A sentence says it; a table has the same.
import type { Lot } from '../api';
import { day } from '../format';
import { paths } from '../router';
import { lineage as L } from '../strings/timeline.en';
import { t, tn } from '../strings.en';

type Member = Lot['family'][number];

const W = 540;
const RIGHT = 12;
const ROW = 34;
const TOP = 12;
const BOTTOM = 30;
const INDENT = 8;

const ms = (at: string) => Date.parse(at);

/** Mother before daughter, sisters by age. */
function ordered(family: readonly Member[], under: string | null = null): Member[] {
  return family
    .filter((one) => one.mother_id === under)
    .sort((a, b) => ms(a.born_at) - ms(b.born_at))
    .flatMap((one) => [one, ...ordered(family, one.lot.id)]);
}

const whereOf = (one: Member) => (one.is_gone ? L.gone : one.place?.name ?? L.nowhere);

function Line({ one, own, x, y, mother, now }: { one: Member; own: string; x: (at: number) => number; y: number; mother: number | undefined; now: number }) {
  const from = x(ms(one.born_at));
  const to = x(one.ended_at ? ms(one.ended_at) : now);
  const isOwn = one.lot.id === own;
  const isLate = from > W / 2;
  return (
    <g>
      {mother !== undefined && <line class="cut-from" x1={from} x2={from} y1={mother} y2={y} />}
      <line class={`life${isOwn ? ' own' : ''}`} x1={from} x2={Math.max(to, from + 4)} y1={y} y2={y} />
      {one.is_gone ? <path class="life-end" d={`M${Math.max(to, from + 4)} ${y - 6}v12`} /> : <circle class="life-now" cx={Math.max(to, from + 4)} cy={y} r="5" />}
      {mother !== undefined && <circle class="life-begin" cx={from} cy={y} r="3" />}
      <text class="label" x={isLate ? from - INDENT : from + INDENT} y={y - 6} text-anchor={isLate ? 'end' : 'start'} font-weight={isOwn ? 650 : 400}>
        {one.is_gone ? t(L.lineGone, { n: one.count }) : t(L.line, { n: one.count, place: whereOf(one) })}
      </text>
    </g>
  );
}

export function Lineage({ lot, nowAt }: { lot: Lot; nowAt: string }) {
  if (lot.family.length < 2) return null;
  const family = ordered(lot.family);
  const first = family[0];
  if (!first) return null;
  const now = ms(nowAt);
  // A mother of years is drawn from shortly before the first cut, so that what was cut has room.
  const cuts = family.slice(1).map((one) => ms(one.born_at));
  const firstCut = Math.min(...cuts, now);
  const from = Math.max(ms(first.born_at), firstCut - (now - firstCut) * 0.35 - 86_400_000);
  const x = (at: number) => 2 + ((Math.min(Math.max(at, from), now) - from) / Math.max(now - from, 1)) * (W - RIGHT - 2);
  const row = new Map(family.map((one, k) => [one.lot.id, TOP + (k + 0.6) * ROW]));
  const height = TOP + family.length * ROW + BOTTOM;
  const here = family.filter((one) => !one.is_gone);
  const plants = here.reduce((sum, one) => sum + one.count, 0);
  const said = [tn(L.said, family.length - 1), t(L.here, { lots: here.length, plants })].join(' ');
  const ends = [new Date(from).toISOString(), new Date(now).toISOString()];
  return (
    <section aria-labelledby="family">
      <h2 id="family">{L.title}</h2>
      <figure class="odds lineage">
        <figcaption>{said}</figcaption>
        <svg viewBox={`0 0 ${W} ${height}`} role="img" aria-label={said}>
          {family.map((one) => (
            <Line key={one.lot.id} one={one} own={lot.id} x={x} y={row.get(one.lot.id) ?? 0} mother={one.mother_id ? row.get(one.mother_id) : undefined} now={now} />
          ))}
          {ends.map((at, k) => (
            <text key={k} class="label" x={x(ms(at))} y={height - 6} text-anchor={k === 0 ? 'start' : 'end'}>{day(at.slice(0, 10))}</text>
          ))}
        </svg>
        <details>
          <summary>{L.table}</summary>
          <div class="table-box" tabIndex={0} role="region" aria-label={L.table}>
            <table>
              <thead><tr>{L.head.map((text) => <th key={text} scope="col">{text}</th>)}</tr></thead>
              <tbody>
                {family.map((one) => {
                  const mother = lot.family.find((other) => other.lot.id === one.mother_id);
                  return (
                    <tr key={one.lot.id}>
                      <th scope="row">{one.lot.id === lot.id ? <b>{one.lot.code}, {L.this}</b> : <a href={paths.lot(one.lot.code)}>{one.lot.code}</a>}</th>
                      <td>{L.origins[one.origin]} {one.born_text.replace(/^(on|in) /, '')}</td>
                      <td>{mother?.lot.code ?? ''}</td>
                      <td>{one.count}</td>
                      <td>{whereOf(one)}{one.ended_on && one.is_gone && `, ${day(one.ended_on)}`}</td>
                    </tr>
                  );
                })}
              </tbody>
            </table>
          </div>
        </details>
      </figure>
    </section>
  );
}
