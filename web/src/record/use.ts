// The queue for screens.
import { useEffect, useState } from 'preact/hooks';
import { lastTold, listenQueue, queueState, record, recordTogether, settled, undo, type QueueState, type Told } from './queue';
import type { Draft } from './event';

export interface Recorder extends QueueState {
  last: Told | undefined;
  record: (what: string, drafts: Draft[]) => Promise<string[]>;
  recordTogether: (what: string, drafts: Draft[]) => Promise<string[]>;
  undo: (told: Told) => Promise<void>;
  settled: typeof settled;
}

export function useRecord(): Recorder {
  const [, redraw] = useState(0);
  useEffect(() => listenQueue(() => redraw((n) => n + 1)), []);
  return { ...queueState(), last: lastTold(), record, recordTogether, undo, settled };
}

const AGAIN_MS = 400;
let tappedMs = -AGAIN_MS; // a page that was just opened takes its first tap

/** Wraps what a tap does so that a second tap right after (a wet screen, a trembling finger) does nothing. */
export function once<E extends unknown[]>(act: (...given: E) => void): (...given: E) => void {
  return (...given) => {
    const now = performance.now();
    if (now - tappedMs < AGAIN_MS) return;
    tappedMs = now;
    act(...given);
  };
}
