// Which bin is in use when: a bar for each fill, from its earliest day; the pale part is how long it may wait.
import type { Schemas } from '../api';
import { day } from '../format';
import { t, tn } from '../strings.en';
import { builds as B } from '../strings/builds.en';

type Builds = Schemas['Builds'];

const DAY_MS = 86_400_000;
const ROW = 34;
const LEFT = 0;

const at = (on: string) => Date.parse(`${on}T12:00:00Z`);

export function BinSpans({ data, today }: { data: Builds; today: string }) {
  const bins = data.bins.filter((bin) => bin.fills.length > 0);
  if (bins.length === 0 || today === '') return null;
  const from = at(today);
  const ends = bins.flatMap((bin) => bin.fills.map((fill) => at(fill.by_on) + fill.days * DAY_MS));
  const span = Math.max(...ends, ...data.builds.map((build) => at(build.need_by_on))) - from;
  const x = (ms: number) => LEFT + (1000 * (ms - from)) / span;
  return (
    <section aria-labelledby="bins">
      <h2 id="bins">{B.bins}</h2>
      <p>{t(B.binsSentence, { n: data.bins.length, used: bins.length })} {data.bins_not_free > 0 && tn(B.notFree, data.bins_not_free)}</p>
      <svg class="spans" viewBox={`0 0 1000 ${ROW * bins.length + 6}`} aria-hidden="true" preserveAspectRatio="none">
        {bins.map((bin, row) =>
          bin.fills.map((fill) => (
            <g key={bin.place.id + fill.from_on}>
              <rect class="span-slack" x={x(at(fill.from_on))} y={row * ROW + 6} width={Math.max(2, x(at(fill.by_on) + fill.days * DAY_MS) - x(at(fill.from_on)))} height={ROW - 14} />
              <rect class="span-busy" x={x(at(fill.from_on))} y={row * ROW + 6} width={Math.max(2, (1000 * fill.days * DAY_MS) / span)} height={ROW - 14} />
            </g>
          )),
        )}
        {data.builds.map((build) => (
          <line key={build.id} class="span-need" x1={x(at(build.need_by_on))} x2={x(at(build.need_by_on))} y1="0" y2={ROW * bins.length + 6} />
        ))}
      </svg>
      <div class="wide">
        <table>
          <thead><tr><th scope="col">{B.bin}</th><th scope="col">{B.freeOn}</th><th scope="col">{B.fill}</th></tr></thead>
          <tbody>
            {data.bins.map((bin) => (
              <tr key={bin.place.id}>
                <th scope="row">{bin.place.name}</th>
                <td>{day(bin.free_on, today)}</td>
                <td>
                  {bin.fills.length === 0 && B.noFill}
                  {bin.fills.map((fill) => (
                    <p key={fill.from_on}>{t(B.fillSpan, { from: day(fill.from_on, today), by: day(fill.by_on, today), days: fill.days })}</p>
                  ))}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}
