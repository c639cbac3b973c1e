// A screen's data: asked for once, again when something was recorded, when the day turns, and when the
// page is looked at again. While it is asked for anew, and when that fails, the old answer stays.
import { useEffect, useState } from 'preact/hooks';
import { client, settle, type Trouble } from './api';
import { setClock } from './record/event';

const POLL_MS = 15_000;
const listeners = new Set<() => void>();
let position = -1;
let today = new Date().toDateString();

/** Asks whether anything changed; tells every screen if so. */
async function poll(): Promise<void> {
  if (document.visibilityState !== 'visible' || listeners.size === 0) return;
  const since = Math.max(position, 0);
  const askedMs = Date.now();
  const answer = await settle(client.GET('/api/v1/changes', { params: { query: { since } } }));
  const turned = new Date().toDateString() !== today;
  today = new Date().toDateString();
  if ('trouble' in answer) return;
  setClock(answer.data.now_at, askedMs, Date.now());
  const changed = position >= 0 && answer.data.position !== position;
  position = answer.data.position;
  if (changed || turned) for (const tell of listeners) tell();
}

/** Every screen asks anew: something was recorded here. */
export function tellAnswers(): void {
  for (const tell of listeners) tell();
}

export function startPolling(): void {
  setInterval(() => void poll(), POLL_MS);
  document.addEventListener('visibilitychange', () => void poll());
  window.addEventListener('focus', () => void poll());
}

export interface Answer<T> {
  data: T | undefined;
  trouble: Trouble | undefined;
  isLate: boolean; // longer than a moment: then it is said
  again: () => void;
}

const LATE_MS = 300;

/** `ask` is called again whenever `key` changes. */
export function useAnswer<T>(key: string, ask: () => Promise<{ data?: T; error?: unknown; response: Response }>): Answer<T> {
  const [state, setState] = useState<{ key: string; data?: T; trouble?: Trouble; isLate: boolean }>({ key, isLate: false });
  const [turn, setTurn] = useState(0);

  useEffect(() => {
    let isOver = false;
    const late = setTimeout(() => setState((old) => ({ ...old, isLate: true })), LATE_MS);
    void settle(ask()).then((answer) => {
      if (isOver) return;
      clearTimeout(late);
      setState((old) =>
        'data' in answer
          ? { key, data: answer.data, isLate: false }
          : { ...(old.key === key ? old : {}), key, trouble: answer.trouble, isLate: false },
      );
    });
    return () => {
      isOver = true;
      clearTimeout(late);
    };
  }, [key, turn]);

  useEffect(() => {
    const tell = () => setTurn((n) => n + 1);
    listeners.add(tell);
    void poll();
    return () => {
      listeners.delete(tell);
    };
  }, []);

  const isOurs = state.key === key;
  return {
    data: isOurs ? state.data : undefined,
    trouble: isOurs ? state.trouble : undefined,
    isLate: state.isLate,
    again: () => setTurn((n) => n + 1),
  };
}
