// The line at the foot of every screen: what was recorded last, with Undo; how much is not yet sent; what
// needs attention. It stays until it is closed or something else is recorded.
import { S, t, tn } from '../strings.en';
import { closeTold } from './queue';
import { once, useRecord } from './use';

export function Recorded() {
  const { last, waiting, parked, isSignedOut, undo } = useRecord();
  const R = S.recording;
  const isSent = last !== undefined && !waiting.some((item) => last.ids.includes(item.event.id));
  const isShown = last !== undefined || waiting.length > 0 || parked.length > 0;
  return (
    <section class={isShown ? 'recorded' : 'hidden'} aria-label={R.region}>
      <div role="status">
        {last && <p class="recorded-what">{t(last.isUndo ? R.undone : R.done, { what: last.what })}</p>}
        {waiting.length > 0 && (
          <p class="quiet unsent-mark">
            {tn(R.waiting, waiting.length)} {isSignedOut ? R.signedOut : !isSent ? R.waitingWhy : ''}
          </p>
        )}
        {parked.length > 0 && (
          <p class="attention"><b>{tn(R.attention, parked.length)}</b> <a href="/unsent">{R.attentionLink}</a></p>
        )}
      </div>
      {last && (
        <p class="recorded-acts">
          <button type="button" onClick={once(() => void undo(last))}>{last.isUndo ? R.redo : R.undo}</button>
          <button type="button" class="bare-button" onClick={closeTold}>{R.close}</button>
        </p>
      )}
    </section>
  );
}
