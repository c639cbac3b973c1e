// The way of a lot from the shop to its use: four doors in a row, the next one marked.
import type { Lot } from '../api';
import { day } from '../format';
import { S } from '../strings.en';
import { DoorBarred, DoorOpen, DoorShut } from './marks';

function StageMark({ lot, state }: { lot: Lot; state: Lot['airlock'][number]['state'] }) {
  if (state === 'done') return <DoorOpen />;
  if (state === 'now' && lot.phase === 'held') return <DoorBarred />;
  return <DoorShut />;
}

export function Passage({ lot }: { lot: Lot }) {
  if (lot.airlock.length === 0) return null;
  return (
    <section aria-labelledby="way">
      <h2 id="way">{S.lot.way}</h2>
      <ol class="passage">
        {lot.airlock.map(({ stage, state, on, text }) => (
          <li key={stage} class={state} aria-current={state === 'now' ? 'step' : undefined}>
            <StageMark lot={lot} state={state} />
            <div>
              <b>{S.lot.stage[stage]}</b> <span class="state">{S.lot.state[state]}</span>
              <p class="quiet">
                {on && <span class="nobreak">{day(on)}</span>}
                {on && text && ' · '}
                {text}
              </p>
            </div>
          </li>
        ))}
      </ol>
    </section>
  );
}
