// A long series as SVG: the swing from least to greatest and the mean, what the plants want as a striped band,
// where pests begin as dashed lines. Gaps stay gaps. An arrow-key cursor says each moment; the table is below.
import { useState } from 'preact/hooks';
import type { components } from '../../build/api';
import { climate as C } from '../strings/climate.en';
import { t } from '../strings.en';

type Chart = components['schemas']['ReadingsChart'];

const P = C.place;
const WIDE = 1000;
const HIGH = 200;
const TABLE_ROWS = 40;

interface Scale {
  low: number;
  high: number;
  y: (value: number) => number;
}

function scaleOf(values: readonly number[], step: number): Scale {
  const low = Math.floor((Math.min(...values) - step / 5) / step) * step;
  const high = Math.max(Math.ceil((Math.max(...values) + step / 5) / step) * step, low + step);
  return { low, high, y: (value) => HIGH - ((Math.min(Math.max(value, low), high) - low) / (high - low)) * HIGH };
}

/** The runs of buckets that have values. */
function runsOf(mean: readonly (number | null)[]): [number, number][] {
  const runs: [number, number][] = [];
  let from = -1;
  for (let k = 0; k <= mean.length; k += 1) {
    const is = k < mean.length && mean[k] !== null;
    if (is && from < 0) from = k;
    if (!is && from >= 0) {
      runs.push([from, k]);
      from = -1;
    }
  }
  return runs;
}

export function Series({ chart, which }: { chart: Chart; which: 'temp' | 'rh' }) {
  const { least, mean, greatest } = chart[which];
  const n = mean.length;
  const [at, setAt] = useState(n - 1);
  const unit = which === 'temp' ? '°C' : '%';
  const name = P[which];
  const wants = chart.bands.filter((band) => band.what === (which === 'temp' ? 'plants_temp_c' : 'plants_rh_pct'));
  const pests = which === 'temp' ? chart.bands.filter((band) => band.what === 'pest') : [];
  const known = [...least, ...greatest].filter((value): value is number => value !== null);
  const sentence = chart.sentences[which === 'temp' ? 0 : 1] ?? '';
  if (known.length === 0) return <p class="quiet">{sentence}</p>;
  const edges = wants.flatMap((band) => [band.low, which === 'temp' ? band.high : null]).filter((value): value is number => value !== null);
  const scale = scaleOf([...known, ...edges], which === 'temp' ? 5 : 10);
  const x = (k: number) => ((k + 0.5) / n) * WIDE;
  const from = Date.parse(chart.from_at ?? '');
  const step = (Date.parse(chart.to_at ?? '') - from) / n;
  const isLong = step * n > 3 * 86_400_000;
  const whenText = new Intl.DateTimeFormat('en-GB', isLong ? { day: 'numeric', month: 'short', year: '2-digit' } : { day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit' });
  const when = (k: number) => whenText.format(new Date(from + (k + 0.5) * step));
  const number = (value: number | null | undefined) => (value === null || value === undefined ? '' : `${value.toFixed(1)} ${unit}`);
  const runs = runsOf(mean);
  const line = (values: readonly (number | null)[], a: number, b: number) => Array.from({ length: b - a }, (_, i) => `${x(a + i).toFixed(1)},${scale.y(values[a + i] ?? 0).toFixed(1)}`);
  const rows = Array.from({ length: Math.min(TABLE_ROWS, n) }, (_, i) => {
    const a = Math.floor((i * n) / Math.min(TABLE_ROWS, n));
    const b = Math.max(Math.floor(((i + 1) * n) / Math.min(TABLE_ROWS, n)), a + 1);
    const part = (values: readonly (number | null)[]) => values.slice(a, b).filter((value): value is number => value !== null);
    const means = part(mean);
    return {
      when: when(Math.floor((a + b - 1) / 2)),
      least: means.length ? Math.min(...part(least)) : null,
      mean: means.length ? means.reduce((sum, value) => sum + value, 0) / means.length : null,
      greatest: means.length ? Math.max(...part(greatest)) : null,
    };
  });
  const said = mean[at] === null || mean[at] === undefined
    ? t(P.gap, { when: when(at) })
    : t(P.at, { when: when(at), least: number(least[at]), greatest: number(greatest[at]) });
  return (
    <figure aria-label={`${name}. ${sentence}`}>
      <figcaption><h3>{name}</h3><p>{sentence}</p></figcaption>
      <div class="series">
        <div class="axis" aria-hidden="true"><span>{scale.high} {unit}</span><span>{(scale.high + scale.low) / 2}</span><span>{scale.low}</span></div>
        <svg viewBox={`0 0 ${WIDE} ${HIGH}`} preserveAspectRatio="none" aria-hidden="true">
          <defs>
            <pattern id="climate-stripes" width="14" height="14" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="chart-stripe" d="M0 0V14" /></pattern>
          </defs>
          {wants.map((band) => {
            const top = scale.y(band.high ?? scale.high);
            return <rect key={band.text} class="want" x="0" width={WIDE} y={top} height={Math.max(scale.y(band.low ?? scale.low) - top, 0)} />;
          })}
          {pests.map((band) => band.low !== null && band.low > scale.low && band.low < scale.high && <line key={band.text} class="pest" x1="0" x2={WIDE} y1={scale.y(band.low)} y2={scale.y(band.low)} />)}
          {runs.map(([a, b]) => <polygon key={a} class="swing" points={[...line(least, a, b), ...line(greatest, a, b).reverse()].join(' ')} />)}
          {runs.map(([a, b]) => <polyline key={a} class="mean" points={line(mean, a, b).join(' ')} />)}
          <line class="cursor" x1={x(at)} x2={x(at)} y1="0" y2={HIGH} />
        </svg>
        <div class="times" aria-hidden="true"><span>{when(0)}</span><span>{when(n - 1)}</span></div>
      </div>
      <label class="cursor-line">
        <span>{P.cursor}: <output aria-live="polite">{said}</output></span>
        <input type="range" min="0" max={n - 1} value={at} aria-valuetext={said} onInput={(event) => setAt(Number(event.currentTarget.value))} />
      </label>
      {wants.length > 0 && <p class="quiet">{P.bandPlants}.</p>}
      {pests.length > 0 && <p class="quiet">{P.bandPests} {pests.map((band) => band.text).join('; ')}.</p>}
      <details>
        <summary>{P.table}</summary>
        <div class="table-scroll" tabIndex={0} role="group" aria-label={name}>
          <table>
            <thead><tr><th>{P.head.when}</th><th class="n">{P.head.least}</th><th class="n">{P.head.mean}</th><th class="n">{P.head.greatest}</th></tr></thead>
            <tbody>
              {rows.map((row, k) => (
                <tr key={k}>
                  <td>{row.when}</td>
                  {row.mean === null
                    ? <td colSpan={3}>{P.nothing}</td>
                    : <><td class="n">{number(row.least)}</td><td class="n">{number(row.mean)}</td><td class="n">{number(row.greatest)}</td></>}
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      </details>
    </figure>
  );
}
