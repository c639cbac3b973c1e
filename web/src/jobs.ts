// Long work of the server that nobody has to wait for: begun with "Prefer: respond-async" (RFC 7240), asked after now
// and then, cancelled, and found again when the page was loaded anew.
import { useEffect, useRef, useState } from 'preact/hooks';
import { client, settle, type Schemas, type Trouble } from './api';

export type Job = Schemas['Job'];
type What = Job['what'];

const POLL_MS = 500;

/** What came of a job; of one that makes a file there is only its address. */
export type Outcome<T> = { is: 'done'; data: T; href: string } | { is: 'failed'; trouble: Trouble } | { is: 'cancelled' };

const text = (value: unknown) => (typeof value === 'string' ? value : '');

/** The JSON of an answer, or the trouble with it; a file is not read. */
async function read<T>(response: Response): Promise<{ data: T } | { trouble: Trouble }> {
  const isJson = (response.headers.get('content-type') ?? '').includes('json');
  const body: unknown = isJson ? await response.json() : undefined;
  if (response.ok) return { data: body as T };
  const said = (body ?? {}) as Record<string, unknown>;
  return { trouble: { status: response.status, title: text(said['title']) || `HTTP ${response.status}`, detail: text(said['detail']) } };
}

const lost = (problem: unknown): { trouble: Trouble } => ({
  trouble: { status: 0, title: '', detail: problem instanceof Error ? problem.message : '' },
});

async function ask<T>(path: string, init?: RequestInit): Promise<{ data: T; status: number } | { trouble: Trouble }> {
  try {
    const response = await fetch(path, init);
    const answer = await read<T>(response);
    return 'data' in answer ? { ...answer, status: response.status } : answer;
  } catch (problem) {
    return lost(problem);
  }
}

const resultOf = (job: Job) => `/api/v1/jobs/${job.id}/result`;
const isOver = (job: Job) => job.state !== 'waiting' && job.state !== 'running';

export interface Working<T> {
  job: Job | undefined; // while it is under way
  outcome: Outcome<T> | undefined;
  isBusy: boolean;
  begin: (path: string, init?: RequestInit) => void;
  cancel: () => void;
}

/** The job of that sort: the one this browser began, also before the page was loaded anew. `onEnd` is told once. */
export function useJob<T>(what: What, { isFile = false, onEnd }: { isFile?: boolean; onEnd?: (outcome: Outcome<T>) => void } = {}): Working<T> {
  const [job, setJob] = useState<Job>();
  const [outcome, setOutcome] = useState<Outcome<T>>();
  const [isAsking, setAsking] = useState(false);
  const isGone = useRef(false);
  const told = useRef(onEnd);
  told.current = onEnd;

  const end = (came: Outcome<T>) => {
    if (isGone.current) return;
    setJob(undefined);
    setOutcome(came);
    told.current?.(came);
  };

  const conclude = async (over: Job) => {
    if (over.state === 'cancelled') return end({ is: 'cancelled' });
    const href = resultOf(over);
    if (isFile && over.state === 'done') return end({ is: 'done', data: undefined as T, href });
    const answer = await ask<T>(href);
    end('trouble' in answer ? { is: 'failed', trouble: answer.trouble } : { is: 'done', data: answer.data, href });
  };

  // what was begun before the page was loaded
  useEffect(() => {
    isGone.current = false;
    void settle(client.GET('/api/v1/jobs')).then((answer) => {
      const found = 'data' in answer ? answer.data.jobs.find((one) => one.what === what && one.is_own) : undefined;
      if (!found || isGone.current) return;
      if (isOver(found)) void conclude(found);
      else setJob(found);
    });
    return () => { isGone.current = true; };
  }, []);

  // how far it is
  useEffect(() => {
    if (!job) return undefined;
    const later = setTimeout(() => {
      void settle(client.GET('/api/v1/jobs/{id}', { params: { path: { id: job.id } } })).then((answer) => {
        if (isGone.current) return;
        if ('data' in answer) {
          if (isOver(answer.data)) void conclude(answer.data);
          else setJob(answer.data);
        } else if (answer.trouble.status === 404) {
          end({ is: 'failed', trouble: answer.trouble });
        } else {
          setJob({ ...job }); // the server is away for a moment: asked again
        }
      });
    }, POLL_MS);
    return () => clearTimeout(later);
  }, [job]);

  const begin = (path: string, init: RequestInit = {}) => {
    setOutcome(undefined);
    setAsking(true);
    void ask<Job | T>(path, { ...init, headers: { ...(init.headers as Record<string, string>), Prefer: 'respond-async' } }).then((answer) => {
      setAsking(false);
      if ('trouble' in answer) end({ is: 'failed', trouble: answer.trouble });
      else if (answer.status === 202) setJob(answer.data as Job);
      else end({ is: 'done', data: answer.data as T, href: path });
    });
  };
  const cancel = () => {
    if (!job) return;
    setJob({ ...job, is_cancelling: true });
    void settle(client.DELETE('/api/v1/jobs/{id}', { params: { path: { id: job.id } }, body: {} as never }));
  };
  return { job, outcome, isBusy: isAsking || job !== undefined, begin, cancel };
}

/** What the server works out just now for a page that waits longer than a moment. */
export type Reading = NonNullable<Schemas['Jobs']['reading']>;

export function useReading(isWaiting: boolean): { reading: Reading | undefined; cancel: () => void } {
  const [reading, setReading] = useState<Reading>();
  useEffect(() => {
    if (!isWaiting) return undefined;
    let isPast = false;
    let later: ReturnType<typeof setTimeout>;
    const look = () => {
      later = setTimeout(() => {
        void settle(client.GET('/api/v1/jobs')).then((answer) => {
          if (isPast) return;
          setReading('data' in answer ? (answer.data.reading ?? undefined) : undefined);
          look();
        });
      }, POLL_MS);
    };
    look();
    return () => {
      isPast = true;
      clearTimeout(later);
    };
  }, [isWaiting]);
  const cancel = () => void settle(client.DELETE('/api/v1/jobs/reading', { body: {} as never }));
  return { reading: isWaiting ? reading : undefined, cancel };
}
