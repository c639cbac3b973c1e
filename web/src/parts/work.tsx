// A line that says how far long work is, in words and as a bar, with a button that cancels it.
import type { ComponentChildren } from 'preact';
import type { Job, Reading, Working } from '../jobs';
import { once } from '../record/use';
import { work as W } from '../strings/work.en';
import { t } from '../strings.en';
import { TroubleBox } from './screen';

const number = new Intl.NumberFormat();

function far({ done, total, unit_text: unit }: Reading): string {
  if (total <= 0) return '';
  return t(unit ? W.of : W.ofNothing, { done: number.format(done), total: number.format(total), unit });
}

/** `text`: what is done, in words. The live region holds only what changes rarely. */
export function WorkLine({ at, text, isPage = false, onCancel }: { at: Reading | Job; text: string; isPage?: boolean; onCancel?: (() => void) | undefined }) {
  const isWaiting = 'state' in at && at.state === 'waiting';
  const doing = at.is_cancelling ? W.cancelling : isWaiting ? W.waiting : at.work_text;
  return (
    <div class="work">
      <p role="status" class={isPage ? 'quiet' : undefined}>{doing ? `${text}: ${doing}` : text}</p>
      <div class="work-bar">
        {at.total > 0 ? <progress aria-label={text} max={at.total} value={at.done} /> : <progress aria-label={text} />}
        <span class="work-far">{far(at)}</span>
        {onCancel && <button type="button" disabled={at.is_cancelling} onClick={once(onCancel)}>{W.cancel}</button>}
      </div>
    </div>
  );
}

/** A button that begins a job, its line while it runs, and what came of it. */
export function JobHere<T>({ work, label, text, begin, said }: {
  work: Working<T>; label: string; text: string; begin: () => void; said: (data: T, href: string) => ComponentChildren;
}) {
  const { job, outcome, isBusy } = work;
  return (
    <>
      <p class="acts"><button type="button" disabled={isBusy} onClick={once(begin)}>{label}</button></p>
      {job && <WorkLine at={job} text={text} onCancel={work.cancel} />}
      <div role="status">
        {outcome?.is === 'done' && <div class="note">{said(outcome.data, outcome.href)}</div>}
        {outcome?.is === 'cancelled' && <p>{W.cancelled}</p>}
      </div>
      {outcome?.is === 'failed' && <TroubleBox trouble={outcome.trouble} again={once(begin)} />}
    </>
  );
}
