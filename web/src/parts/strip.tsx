// A chance on a strip: from 1 in 1,000 to 1 in 1, each mark ten times the one before. The hatched band goes
// from the least to the most, the bar is the chance itself. The same stands beside it in words.
import type { ThreatChance } from '../api';
import { S } from '../strings.en';

const DECADES = 3;

/** Where a probability stands, 0 to 100 (percent of the width); under 1 in 1,000 at the left end. */
export function across(prob: number): number {
  const decades = Math.log10(Math.max(prob, 1e-12)) + DECADES;
  return (100 * Math.min(Math.max(decades, 0), DECADES)) / DECADES;
}

const ends = { top: 8, height: 14 };

export function Strip({ chance }: { chance: Pick<ThreatChance, 'prob' | 'prob_least' | 'prob_most' | 'text'> }) {
  const from = across(chance.prob_least);
  const to = across(chance.prob_most);
  const at = across(chance.prob);
  return (
    <svg class="strip" height="30" role="img" aria-label={chance.text}>
      <line class="rail" x1="0" x2="100%" y1="15" y2="15" />
      {[0, 1, 2, 3].map((k) => (
        <line key={k} class="tick" x1={`${(100 * k) / DECADES}%`} x2={`${(100 * k) / DECADES}%`} y1="11" y2="19" />
      ))}
      {to > from && (
        <>
          <rect class="band" x={`${from}%`} width={`${to - from}%`} y={ends.top} height={ends.height} />
          <line class="edge" x1={`${from}%`} x2={`${from}%`} y1={ends.top} y2={ends.top + ends.height} />
          <line class="edge" x1={`${to}%`} x2={`${to}%`} y1={ends.top} y2={ends.top + ends.height} />
        </>
      )}
      <line class="here" x1={`${at}%`} x2={`${at}%`} y1="2" y2="28" />
    </svg>
  );
}

/** The scale under strips. */
export function Scale() {
  return (
    <p class="scale">
      <span class="hidden">{S.scale.label}</span>
      {S.scale.ticks.map((tick) => (
        <span key={tick} aria-hidden="true">{tick}</span>
      ))}
    </p>
  );
}

/** The hatching that bands are filled with; once a page. */
export function Hatching() {
  return (
    <svg class="defs" width="0" height="0" aria-hidden="true" focusable="false">
      <defs>
        <pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <line class="hatching" x1="0" y1="0" x2="0" y2="6" />
        </pattern>
      </defs>
    </svg>
  );
}
