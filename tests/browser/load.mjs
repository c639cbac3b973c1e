// A crowd before the server's door: idle and slow clients, half-closed sockets, pipelining, too much head and body,
// every route asked again and again, and imports, while one healthy client measures how long it waits. Used by
// load.test.mjs (short) and bench/run-server (long). Clients come from many addresses of 127/8, because one address
// may hold 48 connections only.
import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import { connect } from 'node:net';
import { join } from 'node:path';
import { Worker } from 'node:worker_threads';
import { api } from './described.mjs';

const LIMIT_MS = 30_000;
const HEAD_MAX = 16_384;
const FILES = 20;

/** Resident memory of a process in KiB (Linux). */
export function residentKib(pid) {
  return Number(/VmRSS:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))[1]);
}

/** One connection: sends the text, resolves with all that came back; `half`: ends its own side at once. */
function raw(port, text, { from = '127.0.0.1', half = false } = {}) {
  return new Promise((resolve) => {
    let came = '';
    const socket = connect({ host: '127.0.0.1', port, localAddress: from, allowHalfOpen: true });
    const end = () => {
      socket.destroy();
      resolve(came);
    };
    socket.setTimeout(LIMIT_MS, end);
    socket.on('connect', () => (half ? socket.end(text) : socket.write(text)));
    socket.on('data', (bytes) => {
      came += bytes.toString('latin1');
    });
    socket.on('end', end);
    socket.on('error', end);
  });
}

export const statusOf = (answer) => Number(/^HTTP\/1\.1 (\d{3})/.exec(answer)?.[1] ?? 0);

/** Every operation of the API as a request's text, with things of the room in the place of parameters. */
export function requests(port, token, { lot, place }) {
  const head = `Host: 127.0.0.1:${port}\r\nAuthorization: Bearer ${token}\r\n`;
  const list = [];
  for (const [path, methods] of Object.entries(api.paths)) {
    for (const [word] of Object.entries(methods)) {
      const method = word.toUpperCase();
      const what = path.includes('/lots/') ? lot : path.includes('/places/') ? place : 'x';
      const filled = path.replace('{threat}', 'fungus_gnat').replace('{what}', 'round').replace(/\{\w+\}/, what);
      const line = filled.includes('/changes') ? `${filled}?since=0` : filled;
      const body = method === 'GET' ? '\r\n' : 'Content-Type: application/json\r\nContent-Length: 2\r\n\r\n{}';
      list.push({ name: `${method} ${path}`, text: `${method} ${line} HTTP/1.1\r\n${head}${body}` });
    }
  }
  return list;
}

/** Sockets that stay: silent, or a byte now and then; each is replaced when the server ends it. */
function hangers(port, count, { from, everyMs }) {
  const isOn = { is: true };
  const sockets = new Set();
  const hang = () => {
    if (!isOn.is) return;
    const socket = connect({ host: '127.0.0.1', port, localAddress: from });
    sockets.add(socket);
    let sent = 0;
    const text = `GET / HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nX-Slow: ${'y'.repeat(4000)}`;
    const timer = everyMs ? setInterval(() => socket.write(text[sent++ % text.length]), everyMs) : undefined;
    socket.on('error', () => undefined);
    socket.on('data', () => undefined);
    socket.on('close', () => {
      clearInterval(timer);
      sockets.delete(socket);
      setTimeout(hang, 50);
    });
  };
  for (let k = 0; k < count; k++) hang();
  return () => {
    isOn.is = false;
    for (const socket of sockets) socket.destroy();
  };
}

/** A logger's file of n readings from a moment on. */
export function loggerFile(n, fromMs) {
  const line = (k) => `${new Date(fromMs + k * 60_000).toISOString().slice(0, 16).replace('T', ' ')},${(20 + (k % 60) / 20).toFixed(2)},${70 + (k % 20)}`;
  return `time,temperature_c,rh_pct\n${Array.from({ length: n }, (_, k) => line(k)).join('\n')}\n`;
}

/** Imports one file after the other; after `FILES` the same again, which are known already, so that the room stops growing. */
async function importing(port, token, place, isOn, rows) {
  let n = 0;
  const files = Array.from({ length: FILES }, (_, k) => loggerFile(rows, Date.UTC(2020, 0, 1) + k * rows * 60_000));
  while (isOn()) {
    const k = n % FILES;
    const body = files[k];
    const key = `00000000-0000-4000-8000-${String(k).padStart(12, '0')}`;
    const answer = await raw(port, `POST /api/v1/places/${place}/readings?order=ymd HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nAuthorization: Bearer ${token}\r\nContent-Type: text/csv\r\nX-Requested-By: bench\r\nIdempotency-Key: ${key}\r\nContent-Length: ${body.length}\r\n\r\n${body}`);
    if (statusOf(answer) >= 300 || statusOf(answer) === 0) throw new Error(`import: ${answer.slice(0, 600)}`);
    n += 1;
  }
  return n;
}

/** A healthy client in a thread of its own: `stop` resolves with how long it waited for what, in ms, sorted. */
function healthy(port, token, everyMs) {
  const worker = new Worker(new URL('load-client.mjs', import.meta.url), { workerData: { port, token, everyMs } });
  const said = once(worker, 'message');
  return async () => {
    worker.postMessage('stop');
    return (await said)[0];
  };
}

export const at = (sorted, share) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];

/** The odd ones, each asked once; what they must be told stands in docs/models/server.md. */
export async function oddities(port, token) {
  const head = `Host: 127.0.0.1:${port}\r\nAuthorization: Bearer ${token}\r\n`;
  const get = `GET /api/v1/session HTTP/1.1\r\n${head}\r\n`;
  const count = (answer) => answer.split('HTTP/1.1 ').length - 1;
  const pipelined = await raw(port, get.repeat(20));
  return {
    pipelined: [statusOf(pipelined), count(pipelined)],
    halfClosed: statusOf(await raw(port, get, { half: true })),
    cut: statusOf(await raw(port, get.slice(0, 30), { half: true })),
    longHead: statusOf(await raw(port, `GET / HTTP/1.1\r\n${head}X: ${'y'.repeat(HEAD_MAX)}\r\n\r\n`)),
    longBody: statusOf(await raw(port, `POST /api/v1/events HTTP/1.1\r\n${head}Content-Type: application/json\r\nContent-Length: 1048577\r\n\r\n${'z'.repeat(200_000)}`)),
  };
}

/** The crowd: `isDone(n)` says when the busy ones have asked enough. Resolves with what was seen. */
export async function crowd({ port, token, room, idle, busy, slow, isDone, rows, everyMs }) {
  let isOn = true;
  const list = requests(port, token, room);
  const counts = new Map();
  const failed = [];
  let n = 0;
  const stops = [
    hangers(port, idle / 2, { from: '127.0.1.1' }),
    hangers(port, idle / 2, { from: '127.0.1.2' }),
    hangers(port, slow, { from: '127.0.1.3', everyMs: 100 }),
  ];
  const imports = importing(port, token, room.place, () => isOn, rows);
  const stopClient = healthy(port, token, everyMs);
  const worker = async (k) => {
    while (!isDone(n)) {
      const { name, text } = list[n % list.length];
      n += 1;
      const answer = await raw(port, text, { from: `127.0.2.${1 + (k % 25)}` });
      const status = statusOf(answer);
      counts.set(name, (counts.get(name) ?? 0) + 1);
      if (status === 0 || status >= 500) failed.push(`${name}: ${status} ${answer.slice(-200)}`);
    }
  };
  await Promise.all(Array.from({ length: busy }, (_, k) => worker(k)));
  const waited = await stopClient(); // while the others are still at it
  isOn = false;
  for (const stop of stops) stop();
  return { n, counts, failed, imports: await imports, ...waited };
}

export const tokenOf = (room) => readFileSync(join(room, 'server-token'), 'utf8');
