// The answers for what is shown of a long list: asked for in small batches, in the order in which they stand on the
// page. What was answered stays while it is asked for anew, after something was recorded.
import { useEffect, useRef, useState } from 'preact/hooks';
import { settle, type Trouble } from './api';

const BATCH = 6;

interface Reply<T> { data?: T[]; error?: unknown; response: Response }

export interface More<T> {
  of: (code: string) => T | undefined;
  left: number; // how many are not answered yet
  trouble: Trouble | undefined;
}

/** `list`: the plain answer that the codes come from; a new one makes all be asked again. */
export function useMore<T>(list: object | undefined, codes: readonly string[], ask: (codes: readonly string[]) => Promise<Reply<T>>, keyOf: (one: T) => string): More<T> {
  const kept = useRef(new Map<string, T>());
  const fresh = useRef<{ list: object | undefined; codes: Set<string> }>({ list, codes: new Set() });
  const [trouble, setTrouble] = useState<Trouble>();
  const [, redraw] = useState(0);
  if (fresh.current.list !== list) fresh.current = { list, codes: new Set() };
  const wanted = codes.filter((code) => !fresh.current.codes.has(code));

  useEffect(() => {
    let isOver = false;
    const run = async () => {
      const left = [...wanted];
      while (left.length > 0 && !isOver) {
        const batch = left.splice(0, BATCH);
        const answer = await settle(ask(batch));
        if (isOver) return;
        if ('trouble' in answer) {
          setTrouble(answer.trouble);
          return;
        }
        for (const one of answer.data) kept.current.set(keyOf(one), one);
        for (const code of batch) fresh.current.codes.add(code);
        redraw((n) => n + 1);
      }
    };
    void run();
    return () => {
      isOver = true;
    };
  }, [list, codes.join()]);

  return { of: (code) => kept.current.get(code), left: wanted.length, trouble };
}
