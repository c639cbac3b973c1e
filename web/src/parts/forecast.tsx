// How the weighted sum goes on if every look finds nothing: a line with a point for each round day, the
// ceiling as a dashed line. A sentence says it; a table has the numbers.
import type { Gate } from '../api';
import { day, percent } from '../format';
import { S, t } from '../strings.en';

const SHOWN_BEYOND = 3; // points after the ceiling is met

/** The points worth drawing: up to a little after the sum is under the ceiling. */
function shownPoints(gate: Gate): Gate['forecast'] {
  const under = gate.forecast.findIndex((point) => point.weighted_sum <= gate.ceiling);
  const end = under < 0 ? gate.forecast.length : Math.max(under + SHOWN_BEYOND, 6);
  return gate.forecast.slice(0, end + 1);
}

export function Forecast({ gate }: { gate: Gate }) {
  const points = shownPoints(gate);
  const top = Math.max(...points.map((point) => point.weighted_sum), gate.ceiling) * 1.12;
  const x = (k: number) => `${(96 * k) / Math.max(points.length - 1, 1) + 2}%`;
  const y = (sum: number) => `${96 - (92 * sum) / top}%`;
  const last = points.length - 1;
  return (
    <section aria-labelledby="ahead">
      <h2 id="ahead">{S.gate.ahead}</h2>
      <figure class="forecast">
        <figcaption>{gate.forecast_text}</figcaption>
        <svg height="190" role="img" aria-label={gate.forecast_text}>
          <line class="rail" x1="0" x2="100%" y1="96%" y2="96%" />
          <line class="ceiling" x1="0" x2="100%" y1={y(gate.ceiling)} y2={y(gate.ceiling)} />
          <text class="label" x="100%" y={y(gate.ceiling)} dy="-6" text-anchor="end">
            {t(S.gate.ceiling, { pct: percent(gate.ceiling) })}
          </text>
          {points.slice(1).map((point, k) => (
            <line key={point.on} class="course" x1={x(k)} x2={x(k + 1)} y1={y(points[k]?.weighted_sum ?? 0)} y2={y(point.weighted_sum)} />
          ))}
          {points.map((point, k) => (
            <circle key={point.on} class={point.weighted_sum <= gate.ceiling ? 'point under' : 'point'} cx={x(k)} cy={y(point.weighted_sum)} r="4" />
          ))}
        </svg>
        <p class="scale ends" aria-hidden="true">
          <span>{points[0] ? day(points[0].on) : ''}</span>
          <span>{points[last] ? day(points[last].on) : ''}</span>
        </p>
        <p class="quiet">{S.gate.aheadNote}</p>
        <details>
          <summary>{S.gate.aheadTable}</summary>
          <div class="table-box" tabIndex={0} role="region" aria-label={S.gate.aheadTable}>
            <table>
              <thead>
                <tr><th scope="col">{S.gate.aheadDate}</th><th scope="col">{S.gate.aheadSum}</th><th scope="col">{S.gate.aheadQuick}</th></tr>
              </thead>
              <tbody>
                {gate.forecast.map((point) => (
                  <tr key={point.on}>
                    <th scope="row">{day(point.on)}</th>
                    <td>{percent(point.weighted_sum)}</td>
                    <td>{percent(point.weighted_sum_quick)}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
        </details>
      </figure>
    </section>
  );
}
