// A long list, some of it at a time: the first few, and a button for the next.
import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { S, t } from '../strings.en';

const STEP = 40;

/** What is shown of the items, and the button while there is more; `key` begins anew. */
export function useFew<T>(items: readonly T[], about: string, step = STEP): { shown: readonly T[]; more: ComponentChildren } {
  const [state, setState] = useState({ about, limit: step });
  const limit = state.about === about ? state.limit : step;
  const left = items.length - limit;
  const more = left > 0 && (
    <p class="more">
      <button type="button" onClick={() => setState({ about, limit: limit + step })}>{t(S.few.more, { n: Math.min(left, step) })}</button>
      <span class="quiet"> {t(S.few.of, { shown: limit, all: items.length })}</span>
    </p>
  );
  return { shown: items.slice(0, limit), more };
}

/** Says that answers are still to come; nothing when none are. */
export function Awaited({ left }: { left: number }) {
  return left > 0 ? <p role="status" class="quiet">{S.few.asking}</p> : null;
}
