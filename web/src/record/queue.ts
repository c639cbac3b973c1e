// The queue of events: kept first, then shown as done with a mark, then sent in order, until the server has
// each. The event's id is its key, so that sending twice records once. What the server refuses is parked
// with its reason and never dropped by itself.
import { client, settle, type Trouble } from '../api';
import { tellAnswers } from '../answer';
import { makeEvent, newId, nowMs, type Draft } from './event';
import { change, keep, kept, remove, type Item } from './kept';

const FIRST_WAIT_MS = 1_000;
const LONGEST_WAIT_MS = 60_000;
const LEASE_MS = 6_000;
const LEASE_KEY = 'fernlock.sender';
const ROOM_KEY = 'fernlock.room';
const tab = newId();

export interface QueueState {
  waiting: Item[];
  parked: Item[];
  elsewhere: number; // of another room that this address served
  isSignedOut: boolean;
}

let state: QueueState = { waiting: [], parked: [], elsewhere: 0, isSignedOut: false };
let room = localStorage.getItem(ROOM_KEY) ?? '';
let isRoomKnown = false; // said by the server since this page was loaded
let isSending = false;
let isAskedAgain = false;
let waitMs = FIRST_WAIT_MS;
let timer: ReturnType<typeof setTimeout> | undefined;
const listeners = new Set<() => void>();
const others = typeof BroadcastChannel === 'undefined' ? undefined : new BroadcastChannel('fernlock.unsent');

export const queueState = (): QueueState => state;

export function listenQueue(tell: () => void): () => void {
  listeners.add(tell);
  return () => listeners.delete(tell);
}

const isOurs = (item: Item) => item.room === room || item.room === '';

async function look(isSignedOut = state.isSignedOut): Promise<void> {
  const items = await kept();
  const ours = items.filter(isOurs);
  state = {
    waiting: ours.filter((item) => item.refused === undefined),
    parked: ours.filter((item) => item.refused !== undefined),
    elsewhere: items.length - ours.length,
    isSignedOut,
  };
  for (const tell of listeners) tell();
}

async function changed(): Promise<void> {
  await look();
  others?.postMessage('changed');
}

/** One page sends at a time. Not for correctness, which the ids give, but for order and quiet. */
function holdsLease(): boolean {
  const [owner, until] = (localStorage.getItem(LEASE_KEY) ?? '').split(' ');
  if (owner && owner !== tab && Number(until) > Date.now()) return false;
  localStorage.setItem(LEASE_KEY, `${tab} ${Date.now() + LEASE_MS}`);
  return true;
}

function letLeaseGo(): void {
  if (localStorage.getItem(LEASE_KEY)?.startsWith(tab)) localStorage.removeItem(LEASE_KEY);
}

const isForLater = ({ status }: Trouble) => status === 0 || status === 401 || status === 408 || status === 429 || status >= 500;

async function learnRoom(): Promise<Trouble | undefined> {
  const answer = await settle(client.GET('/api/v1/session/room'));
  if ('trouble' in answer) return answer.trouble;
  room = answer.data.room;
  localStorage.setItem(ROOM_KEY, room);
  isRoomKnown = true;
  return undefined;
}

/** The bytes of a photo go first: the server strips and names them, and the event has that name. */
async function sendPhoto(item: Item): Promise<Trouble | undefined> {
  const answer = await settle(
    client.POST('/api/v1/photos', {
      body: item.photo as never,
      bodySerializer: (bytes: unknown) => bytes as BodyInit,
      headers: { 'Content-Type': 'image/jpeg' },
      params: { header: { 'X-Requested-By': 'fernlock' } },
    }),
  );
  if ('trouble' in answer) return answer.trouble;
  item.event = { ...item.event, body: { ...item.event.body, blob: answer.data.sha256 } };
  await change(item);
  return undefined;
}

interface Reply { data?: unknown; error?: unknown; response: Response }

/** Sends what goes together: undefined when the server has it, else what came instead. */
async function send(items: [Item, ...Item[]]): Promise<Trouble | undefined> {
  for (const item of items) {
    const trouble = item.photo ? await sendPhoto(item) : undefined;
    if (trouble) return trouble;
  }
  const [{ batch, event }] = items;
  const answer = await settle((batch === undefined
    ? client.POST('/api/v1/events', { body: event as never, params: { header: { 'Idempotency-Key': event.id } } } as never)
    : client.POST('/api/v1/events/batch', { body: { events: items.map((item) => item.event) } } as never)) as Promise<Reply>);
  return 'trouble' in answer ? answer.trouble : undefined;
}

/** The first that waits, with all of its batch. */
function next(): [Item, ...Item[]] | undefined {
  const [first, ...rest] = state.waiting;
  if (!first) return undefined;
  return [first, ...(first.batch === undefined ? [] : rest.filter((item) => item.batch === first.batch))];
}

/** What was told a second ahead (nextMoment) counts from that second on: then it is asked for anew. */
function tellWhenItIsTime(): void {
  const aheadMs = Math.floor(toldMs / 1000) * 1000 - nowMs();
  if (aheadMs > 0) setTimeout(tellAnswers, aheadMs + AHEAD_MS);
}

/** Sends until nothing waits; true when it has to try again later. */
async function drain(): Promise<boolean> {
  let isLater = false;
  let nSent = 0;
  for (;;) {
    const trouble = isRoomKnown ? undefined : await learnRoom();
    if (trouble) {
      await look(trouble.status === 401);
      isLater = true;
      break;
    }
    await look(false);
    const items = next();
    if (!items) break;
    if (!holdsLease()) {
      isLater = true;
      break;
    }
    const refusal = await send(items);
    if (refusal && isForLater(refusal)) {
      if (refusal.status === 401) isRoomKnown = false;
      await look(refusal.status === 401);
      isLater = true;
      break;
    }
    for (const item of items) {
      if (refusal) await change({ ...item, refused: refusal.detail || refusal.title });
      else await remove(item.n);
    }
    nSent += refusal ? 0 : items.length;
    await changed();
  }
  if (nSent > 0) {
    tellAnswers();
    tellWhenItIsTime();
  }
  return isLater;
}

/** Sends what waits; called after telling, when the network is back, when the page is looked at. */
export async function pump(): Promise<void> {
  if (isSending) {
    isAskedAgain = true;
    return;
  }
  isSending = true;
  isAskedAgain = false;
  clearTimeout(timer);
  try {
    const isLater = await drain();
    letLeaseGo();
    if (isLater && state.waiting.length > 0) {
      timer = setTimeout(() => void pump(), waitMs);
      waitMs = Math.min(2 * waitMs, LONGEST_WAIT_MS);
    } else {
      waitMs = FIRST_WAIT_MS;
    }
  } finally {
    isSending = false;
  }
  if (isAskedAgain) await pump();
}

function soon(): void {
  waitMs = FIRST_WAIT_MS;
  void pump();
}

export function startQueue(): void {
  void look().then(() => pump());
  window.addEventListener('online', soon);
  window.addEventListener('focus', soon);
  window.addEventListener('pageshow', soon);
  window.addEventListener('pagehide', letLeaseGo);
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') soon();
  });
  others?.addEventListener('message', () => void look());
}

/** What was told last, for the line with Undo. */
export interface Told {
  what: string;
  ids: string[];
  isUndo: boolean;
  isTogether?: boolean; // in one request: all or none, also when it is undone
}
let last: Told | undefined;
export const lastTold = (): Told | undefined => last;

export function closeTold(): void {
  last = undefined;
  for (const tell of listeners) tell();
}

let toldMs = 0;
const AHEAD_MS = 200; // the clock of the room, as it is known here, may be so much off

/** A record is as fine as a second, and of two in one second neither is the later: each telling has a second of its own. */
function nextMoment(): number {
  toldMs = Math.max(nowMs(), Math.floor(toldMs / 1000) * 1000 + 1000);
  return toldMs;
}

async function queue(what: string, drafts: Draft[], told: Omit<Told, 'ids'>): Promise<string[]> {
  const atMs = nextMoment();
  const events = drafts.map((draft) => makeEvent(draft, atMs));
  const batch = told.isTogether && events.length > 1 ? { batch: newId() } : {};
  await keep(events.map((event, k) => ({ room, event, what, ...batch, ...(drafts[k]?.photo ? { photo: drafts[k].photo } : {}) })));
  const ids = events.map((event) => event.id);
  last = { ...told, ids };
  await changed();
  void pump();
  return ids;
}

/** Tells what happened. `what` says it in words ("Bin 3 looked at, nothing found"). Resolves with the ids when
 *  they are kept in this browser; sending follows by itself. */
export function record(what: string, drafts: Draft[]): Promise<string[]> {
  return queue(what, drafts, { what, isUndo: false });
}

/** The same in one request and one transaction: all or none. */
export function recordTogether(what: string, drafts: Draft[]): Promise<string[]> {
  return queue(what, drafts, { what, isUndo: false, isTogether: true });
}

/** Voids what was told, the latest first; voiding a voiding makes it count again. What was refused anyway is
 *  only let go. */
export async function undo(told: Told): Promise<void> {
  const items = await kept();
  const refused = items.filter((item) => item.refused !== undefined && told.ids.includes(item.event.id));
  for (const item of refused) await remove(item.n);
  const rest = told.ids.filter((id) => !refused.some((item) => item.event.id === id)).reverse();
  const drafts = rest.map((event) => ({ kind: 'event_voided', body: { event } }));
  if (drafts.length > 0) await queue(told.what, drafts, { ...told, isUndo: !told.isUndo });
  else closeTold();
  await changed();
}

/** What was refused, once more; of a batch, all of it. */
export async function sendAgain(item: Item): Promise<void> {
  const again = state.parked.filter((one) => one.n === item.n || (item.batch !== undefined && one.batch === item.batch));
  for (const { refused: _, ...rest } of again) await change(rest);
  await changed();
  await pump();
}

export async function letGo(item: Item): Promise<void> {
  await remove(item.n);
  await changed();
}

export async function takeBack(item: Item): Promise<void> {
  await change(item);
  await changed();
}

/** Waits until these are sent or refused, at most so long: what became of them. */
export function settled(ids: string[], limitMs = 10_000): Promise<'sent' | 'refused' | 'waiting'> {
  const now = () => {
    if (state.parked.some((item) => ids.includes(item.event.id))) return 'refused';
    return state.waiting.some((item) => ids.includes(item.event.id)) ? 'waiting' : 'sent';
  };
  return new Promise((resolve) => {
    const end = (value: 'sent' | 'refused' | 'waiting') => {
      clearTimeout(limit);
      stop();
      resolve(value);
    };
    const limit = setTimeout(() => end('waiting'), limitMs);
    const stop = listenQueue(() => {
      if (now() !== 'waiting') end(now());
    });
    if (now() !== 'waiting') end(now());
  });
}
