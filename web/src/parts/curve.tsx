// A chance over time: the range as a hatched band, the chance as a line, what was done and looked at as marks
// of different shapes, what lies ahead as dots. Beside it stand a sentence and a table with the same numbers.
import type { components } from '../../build/api';
import { day } from '../format';
import { chance as C } from '../strings/chance.en';

type Course = components['schemas']['Course'];
type Mark = Course['marks'][number];

const W = 640;
const H = 300;
const LEFT = 76;
const RIGHT = 10;
const TOP = 10;
const BOTTOM = 54;
const LEAST = 1e-3;
const AHEAD = 8;

const ms = (at: string) => Date.parse(at);

function scales(course: Course) {
  const ahead = course.ahead.slice(0, AHEAD);
  const from = ms(course.points[0]?.at ?? '');
  const to = ms((ahead[ahead.length - 1] ?? course.points[course.points.length - 1])?.at ?? '');
  const x = (at: string) => LEFT + ((ms(at) - from) / Math.max(to - from, 1)) * (W - LEFT - RIGHT);
  const y = (prob: number) => H - BOTTOM - (Math.log10(Math.max(prob, LEAST) / LEAST) / 3) * (H - TOP - BOTTOM);
  return { ahead, from, to, x, y };
}

/** Looks are rings, steps squares, finds triangles: on every line of time. */
export function Shape({ kind, x, y }: { kind: Mark['kind']; x: number; y: number }) {
  if (kind === 'look') return <circle class="mark-look" cx={x} cy={y} r="5.5" />;
  if (kind === 'step') return <rect class="mark-step" x={x - 5} y={y - 5} width="10" height="10" />;
  return <path class="mark-find" d={`M${x} ${y - 7}l7 12h-14z`} />;
}

/** Steps of one evening are one mark. */
function marksShown(marks: Mark[]): Mark[] {
  return marks.filter((mark, k) => k === 0 || marks[k - 1]?.at !== mark.at || marks[k - 1]?.kind !== mark.kind);
}

function Legend() {
  return (
    <ul class="odds-legend" aria-hidden="true">
      {(['step', 'look', 'find'] as const).map((kind) => (
        <li key={kind}><svg width="18" height="18"><Shape kind={kind} x={9} y={9} /></svg>{C.legend[kind]}</li>
      ))}
      <li><svg width="30" height="18"><line class="odds-ahead" x1="1" x2="29" y1="9" y2="9" /></svg>{C.legend.ahead}</li>
      <li><svg width="30" height="18"><rect class="odds-band" x="1" y="2" width="28" height="14" /></svg>{C.legend.band}</li>
    </ul>
  );
}

export function Curve({ course }: { course: Course }) {
  const { ahead, from, to, x, y } = scales(course);
  const { points } = course;
  const line = points.map((p, k) => `${k ? 'L' : 'M'}${x(p.at).toFixed(1)} ${y(p.prob).toFixed(1)}`).join('');
  const up = points.map((p, k) => `${k ? 'L' : 'M'}${x(p.at).toFixed(1)} ${y(p.prob_most).toFixed(1)}`).join('');
  const down = [...points].reverse().map((p) => `L${x(p.at).toFixed(1)} ${y(p.prob_least).toFixed(1)}`).join('');
  const dots = ahead.map((p, k) => (k ? `H${x(p.at).toFixed(1)}V${y(p.prob).toFixed(1)}` : `M${x(p.at).toFixed(1)} ${y(p.prob).toFixed(1)}`)).join('');
  const middle = new Date((from + to) / 2).toISOString();
  const days = [new Date(from).toISOString(), middle, new Date(to).toISOString()];
  return (
    <figure class="odds">
      <figcaption>{course.course_text}</figcaption>
      <svg viewBox={`0 0 ${W} ${H}`} role="img" aria-label={course.course_text}>
        {C.axis.map((text, k) => (
          <g key={text}>
            <line class="grid-line" x1={LEFT} x2={W - RIGHT} y1={y(10 ** -k)} y2={y(10 ** -k)} />
            <text class="label" x={LEFT - 8} y={y(10 ** -k)} dy="5" text-anchor="end">{text}</text>
          </g>
        ))}
        <path class="odds-band" d={`${up}${down}Z`} />
        {marksShown(course.marks).map((mark) => (
          <line key={mark.at + mark.kind} class="odds-drop" x1={x(mark.at)} x2={x(mark.at)} y1={y(mark.prob_after)} y2={H - BOTTOM + 8} />
        ))}
        <path class="odds-line" d={line} />
        {ahead.length > 1 && <path class="odds-ahead" d={dots} />}
        {marksShown(course.marks).map((mark) => (
          <Shape key={mark.at + mark.kind} kind={mark.kind} x={x(mark.at)} y={H - BOTTOM + 16} />
        ))}
        {days.map((at, k) => (
          <text key={k} class="label" x={x(at)} y={H - 8} text-anchor={(['start', 'middle', 'end'] as const)[k] ?? 'middle'}>
            {day(at.slice(0, 10))}
          </text>
        ))}
      </svg>
      <Legend />
      <p class="quiet">{C.curveNote}</p>
      <details>
        <summary>{C.table}</summary>
        <div class="table-box" tabIndex={0} role="region" aria-label={C.table}>
          <table>
            <thead>
              <tr>
                <th scope="col">{C.tableHead.on}</th>
                <th scope="col">{C.tableHead.chance}</th>
                <th scope="col">{C.tableHead.least}</th>
                <th scope="col">{C.tableHead.most}</th>
              </tr>
            </thead>
            <tbody>
              {dayEnds(points).map((p) => (
                <tr key={p.at}>
                  <th scope="row">{day(p.on)}</th>
                  <td>{inOne(p.prob)}</td>
                  <td>{inOne(p.prob_least)}</td>
                  <td>{inOne(p.prob_most)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      </details>
    </figure>
  );
}

/** The last point of each day on which anything changed. */
function dayEnds(points: Course['points']): Course['points'] {
  const last = new Map(points.map((p) => [p.on, p]));
  const ends = [...last.values()];
  return ends.filter((p, k) => k === 0 || k === ends.length - 1 || Math.abs(p.prob - (ends[k - 1]?.prob ?? 0)) > 1e-9);
}

/** For the table: in 100, two figures. */
function inOne(prob: number): string {
  if (prob < 0.001) return '<0.1 in 100';
  return `${new Intl.NumberFormat('en', { maximumSignificantDigits: 2 }).format(100 * prob)} in 100`;
}
