// Events as the browser makes them: an id that is the idempotency key, the moment with the device's offset,
// which device told it and its counter. What an event means is computed elsewhere.

export interface Event {
  id: string;
  kind: string;
  occurred_at: string;
  device?: string;
  seq?: number;
  note?: string;
  body: Readonly<{ [member: string]: unknown }>;
}

/** What a screen gives: the rest is filled in. Members of the body that are undefined or '' are left out. */
export interface Draft {
  kind: string;
  body: { [member: string]: unknown };
  id?: string;
  occurredAt?: string; // a moment, or vague: '2026', '2026-03', '2026-03-07'; absent: now
  note?: string;
  photo?: ArrayBuffer; // of photo_attached: the bytes, which are sent first and give body.blob
}

/** A random UUID (version 4, RFC 9562). randomUUID is not there on plain http, getRandomValues is. */
export function newId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | 0x40;
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('');
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-');
}

let offsetMs = 0;

/** The server's clock is the room's clock: what it said, and when it was asked and answered here. */
export function setClock(serverNow: string, askedMs: number, answeredMs: number): void {
  const said = Date.parse(serverNow);
  if (!Number.isNaN(said)) offsetMs = said - (askedMs + answeredMs) / 2;
}

/** Now, in ms, by the room's clock. */
export function nowMs(): number {
  return Date.now() + (Math.abs(offsetMs) > 2_000 ? offsetMs : 0);
}

const two = (n: number) => String(Math.abs(n)).padStart(2, '0');

/** RFC 3339 with the offset of this device: 2026-03-07T18:30:00+01:00. */
export function moment(ms: number): string {
  const at = new Date(ms);
  const east = -at.getTimezoneOffset();
  const local = new Date(ms + east * 60_000).toISOString().slice(0, 19);
  const minutes = Math.abs(east);
  return `${local}${east < 0 ? '-' : '+'}${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
}

const DEVICE_KEY = 'fernlock.device';
const OWN = 'browser ';
const SEQ_KEY = 'fernlock.seq';

/** What the server calls this device in the journal; null: a browser of the keeper, which has a name of its own. */
export function keepDevice(label: string | null): void {
  const kept = localStorage.getItem(DEVICE_KEY);
  if (label) localStorage.setItem(DEVICE_KEY, label);
  else if (kept && !kept.startsWith(OWN)) localStorage.removeItem(DEVICE_KEY);
}

/** Which device this is: made once, kept in this browser. */
export function device(): string {
  const kept = localStorage.getItem(DEVICE_KEY);
  if (kept) return kept;
  const made = `${OWN}${newId().slice(0, 8)}`;
  localStorage.setItem(DEVICE_KEY, made);
  return made;
}

function nextSeq(): number {
  const seq = Number(localStorage.getItem(SEQ_KEY) ?? '0') + 1;
  localStorage.setItem(SEQ_KEY, String(seq));
  return seq;
}

function isTold(value: unknown): boolean {
  return value !== undefined && value !== null && value !== '' && !(typeof value === 'number' && Number.isNaN(value));
}

/** The same without what was not told. */
function told(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(told);
  if (value === null || typeof value !== 'object') return value;
  return Object.fromEntries(Object.entries(value).filter(([, one]) => isTold(one)).map(([key, one]) => [key, told(one)]));
}

/** `atMs`: when it is told; a draft may say another time. */
export function makeEvent(draft: Draft, atMs: number): Event {
  const { note } = draft;
  return {
    id: draft.id ?? newId(),
    kind: draft.kind,
    occurred_at: draft.occurredAt ?? moment(atMs),
    device: device(),
    seq: nextSeq(),
    ...(note ? { note } : {}),
    body: told(draft.body) as Event['body'],
  };
}
