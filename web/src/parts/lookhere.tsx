// A look at one place: nothing found is one tap; something found leads on.
import { useState } from 'preact/hooks';
import type { Place } from '../api';
import { once, useRecord } from '../record/use';
import { look as L } from '../strings/look.en';
import { t } from '../strings.en';
import { ChoiceField } from './form';

export type Effort = keyof typeof L.efforts;
const EFFORT_KEY = 'fernlock.effort';
export const EFFORTS = (Object.keys(L.efforts) as Effort[]).map((value) => ({ value, label: L.efforts[value], about: L.effortAbout[value] }));

/** How this keeper looked last. */
export function lastEffort(): Effort {
  const kept = localStorage.getItem(EFFORT_KEY);
  return kept === 'careful' || kept === 'roots' ? kept : 'glance';
}

export function keepEffort(effort: Effort): void {
  localStorage.setItem(EFFORT_KEY, effort);
}

export function LookHere({ place }: { place: Place }) {
  const { record } = useRecord();
  const [effort, setEffort] = useState<Effort>(lastEffort);
  const tell = once(() => {
    keepEffort(effort);
    void record(t(L.toldNothing, { place: place.name }), [{ kind: 'look_done', body: { place: place.id, effort } }]);
  });
  return (
    <section aria-labelledby="look-here">
      <h2 id="look-here">{L.here}</h2>
      <ChoiceField label={L.effort} value={effort} onValue={setEffort} options={EFFORTS} />
      <p class="acts">
        <button type="button" class="main-act" onClick={tell}>{L.nothing}</button>
      </p>
    </section>
  );
}
