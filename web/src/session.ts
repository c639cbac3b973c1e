// The start of a session, and what this browser may do in it. The address that `fernlock serve` prints, and the QR
// code for a phone, carry a one-time key behind '#', where no log and no other page sees it. It is taken out of
// the address at once. Where a stranger wanted to go is kept until it is let in.
import { useEffect, useState } from 'preact/hooks';
import { client, settle, type Schemas, type Trouble } from './api';
import { keepDevice } from './record/event';

export type Session = Schemas['Session'];
export type Tier = Session['tier'];

const TIER_KEY = 'fernlock.tier';
const WISH_KEY = 'fernlock.wish';
const WISH_MS = 15 * 60_000;
export const PAIR_PATH = '/p';

let pairKey = '';

/** The sign-in key of the address, taken out of it; empty when there is none. A QR code's key is put aside. */
export function takeKey(): string {
  const isPairing = location.pathname === PAIR_PATH;
  const found = (isPairing ? /^#([0-9a-f]{32})$/ : /^#k=(.+)$/).exec(location.hash);
  if (!found?.[1]) return '';
  history.replaceState(null, '', location.pathname);
  if (isPairing) pairKey = found[1];
  return isPairing ? '' : decodeURIComponent(found[1]);
}

/** The key of the QR code that led here, once. */
export function takePairKey(): string {
  const key = pairKey;
  pairKey = '';
  return key;
}

/* ---- where one wanted to go ---- */

/** A path of our own pages, or of a label; undefined for anything else, such as another site's address. */
function ownPath(text: string): string | undefined {
  if (!/^\/(?!\/)[\w\-./~%?=&:+,]*$/.test(text)) return undefined;
  const url = new URL(text, location.origin);
  return url.origin === location.origin && !url.pathname.startsWith('/api/') ? url.pathname + url.search : undefined;
}

/** Keeps where a stranger wanted to go, for when it is let in. */
export function keepWish(path: string): void {
  const own = ownPath(path);
  if (!own || own === '/' || own.startsWith(PAIR_PATH)) return;
  localStorage.setItem(WISH_KEY, `${Date.now()} ${own}`);
}

/** Where it wanted to go, once, if that was not long ago. */
export function takeWish(): string | undefined {
  const [at, path = ''] = (localStorage.getItem(WISH_KEY) ?? '').split(/ (.*)/s);
  localStorage.removeItem(WISH_KEY);
  return Date.now() - Number(at) < WISH_MS ? ownPath(path) : undefined;
}

/** The wish that came with the address ("/?to=/l/CODE": a label's code that a stranger scanned). */
export function takeWishOfAddress(): string | undefined {
  const to = location.pathname === '/' ? new URLSearchParams(location.search).get('to') : null;
  if (to === null) return undefined;
  history.replaceState(null, '', '/');
  return ownPath(to);
}

/** Goes there: a label's code is led on by the server, a page is ours. */
export function follow(path: string): void {
  location.replace(path);
}

/* ---- who is asking ---- */

const listeners = new Set<() => void>();

/** What is known without asking: what the server said last. Nothing known: as the keeper. */
export function tier(): Tier {
  return localStorage.getItem(TIER_KEY) === 'device' ? 'device' : 'owner';
}

let isKnown = false;

export function keepSession(session: Session): void {
  isKnown = true;
  localStorage.setItem(TIER_KEY, session.tier);
  keepDevice(session.device);
  for (const tell of listeners) tell();
}

/** Asks the server; undefined when it does not answer, or answers a stranger. */
export async function askSession(): Promise<Session | undefined> {
  const answer = await settle(client.GET('/api/v1/session'));
  if ('trouble' in answer) return undefined;
  keepSession(answer.data);
  return answer.data;
}

/** Whether the server has said who this is since the page was loaded. */
export function useIsKnown(): boolean {
  const [is, setIs] = useState(isKnown);
  useEffect(() => {
    const tell = () => setIs(isKnown);
    listeners.add(tell);
    tell();
    return () => {
      listeners.delete(tell);
    };
  }, []);
  return is;
}

/** Whether this is a phone that was let in: it records, but changes no settings and imports nothing. */
export function useIsDevice(): boolean {
  const [is, setIs] = useState(tier() === 'device');
  useEffect(() => {
    const tell = () => setIs(tier() === 'device');
    listeners.add(tell);
    return () => {
      listeners.delete(tell);
    };
  }, []);
  return is;
}

/** Undefined when it worked. */
export async function signIn(key: string): Promise<Trouble | undefined> {
  const answer = await settle(client.POST('/api/v1/session', { body: { key } }));
  if ('trouble' in answer) return answer.trouble;
  if ('tier' in answer.data) keepSession(answer.data);
  return undefined;
}
