// Where from: each candidate with its chance, its chain of contacts on a line of time, and as a list.
import type { components } from '../../../build/api';
import { day } from '../../format';
import { found as F } from '../../strings/found.en';
import { t, tn } from '../../strings.en';
import { Chain } from './chain';

type Trace = components['schemas']['Trace'];
type Source = components['schemas']['TraceSource'];

const SHOWN = 5;

interface Span {
  from: number;
  to: number;
}

const ms = (at: string) => Date.parse(at);

/** From the first contact of any candidate that is shown, or the window, to the find. */
function spanOf(trace: Trace, shown: readonly Source[]): Span {
  const starts = shown.flatMap((source) => source.chain.map(({ at }) => at)).concat([trace.window?.from_at ?? null]);
  const to = trace.found_at ? ms(trace.found_at) : 0;
  const from = Math.min(to - 86_400_000, ...starts.filter((at): at is string => at !== null).map(ms));
  return { from, to };
}

function Track({ source, trace, span }: { source: Source; trace: Trace; span: Span }) {
  const across = (at: number) => `${(2 + (96 * (Math.min(Math.max(at, span.from), span.to) - span.from)) / (span.to - span.from)).toFixed(2)}%`;
  const times = source.chain.map(({ at }) => at).filter((at): at is string => at !== null).map(ms);
  const first = times[0];
  const { window } = trace;
  return (
    <svg class="track" height="34" role="img" aria-label={F.trackLabel}>
      {window?.from_at && window.to_at && (
        <rect class="band" x={across(ms(window.from_at))} width={`${(96 * Math.max(0, ms(window.to_at) - Math.max(span.from, ms(window.from_at)))) / (span.to - span.from)}%`} y="6" height="22" />
      )}
      <line class="rail" x1="2%" x2="98%" y1="17" y2="17" />
      {first !== undefined && <line class="here-since" x1={across(first)} x2="98%" y1="17" y2="17" />}
      {times.map((at, k) => <circle key={at + k} class={k === 0 ? 'contact came' : 'contact'} cx={across(at)} cy="17" r={k === 0 ? 7 : 5} />)}
      <line class="find" x1="98%" x2="98%" y1="2" y2="32" />
    </svg>
  );
}

function Candidate({ source, trace, span }: { source: Source; trace: Trace; span: Span }) {
  return (
    <li>
      <p class="chance-line"><b>{source.text}</b> <span>{source.prob_text}</span></p>
      {(source.is_learned || source.fact) && <p class="quiet">{[source.is_learned && F.learned, source.fact && t(F.fact, { fact: F.facts[source.fact as keyof typeof F.facts] ?? source.fact })].filter(Boolean).join(' ')}</p>}
      {source.chain.length > 0 && <Track source={source} trace={trace} span={span} />}
      <Chain contacts={source.chain} />
    </li>
  );
}

export function Sources({ trace }: { trace: Trace }) {
  const shown = trace.sources.slice(0, SHOWN);
  const span = spanOf(trace, shown);
  return (
    <section aria-labelledby="from">
      <h2 id="from">{F.from}</h2>
      {trace.window && <p>{trace.window.text}</p>}
      {trace.is_threat_assumed && <p class="note">{F.assumed}</p>}
      {shown.length === 0 ? <p>{F.fromNone}</p> : <p class="quiet">{F.fromText}</p>}
      {shown.length > 0 && (
        <p class="track-ends" aria-hidden="true">
          <span>{day(new Date(span.from).toISOString().slice(0, 10))}</span>
          <span>{t(F.foundOn, { date: trace.found_on ? day(trace.found_on) : '' })}</span>
        </p>
      )}
      <ol class="candidates">
        {shown.map((source, k) => <Candidate key={k} source={source} trace={trace} span={span} />)}
      </ol>
      {trace.sources.length > SHOWN && <p class="quiet">{tn(F.fromMore, trace.sources.length - SHOWN)}</p>}
      {shown.length > 0 && trace.window && <p class="quiet">{F.bandText}</p>}
    </section>
  );
}
