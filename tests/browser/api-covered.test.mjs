// Every answer that api/openapi.yaml declares is provoked from the running server and held to its schema by ajv, an
// independent validator of JSON Schema 2020-12; one that is declared and never given fails. What the answers mean is
// tested beside each subject.
import assert from 'node:assert/strict';
import { randomUUID } from 'node:crypto';
import { test } from 'node:test';
import { api, fits, validator } from './described.mjs';
import { stage } from './support.mjs';

const LAN = '127.0.0.2';
// 16 by 16 gray points, baseline JPEG, made by Pillow.
const PHOTO = Buffer.from('/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDACgcHiMeGSgjISMtKygwPGRBPDc3PHtYXUlkkYCZlo+AjIqgtObDoKrarYqMyP/L2u71////m8H////6/+b9//j/wAALCAAQABABAREA/8QAFQABAQAAAAAAAAAAAAAAAAAAAAT/xAAUEAEAAAAAAAAAAAAAAAAAAAAA/9oACAEBAAA/AJwH/9k=', 'base64');
let server;
let cookie;
const names = {};
const given = new Set();

const JSON_SENT = { 'Content-Type': 'application/json' };
const CSV_SENT = { 'Content-Type': 'text/csv', 'X-Requested-By': 'test' };
const now = (minutesAgo = 1) => `${new Date(Date.now() - minutesAgo * 60_000).toISOString().slice(0, 19)}Z`;

/** What the description says of an answer: where it stands in it, and itself. */
function declared(method, path, status) {
  const { responses } = api.paths[path][method];
  const key = String(status) in responses ? String(status) : 'default';
  assert.ok(responses[key], `${method} ${path}: ${status} is not declared`);
  const [, , section, name] = responses[key].$ref?.split('/') ?? [];
  return name
    ? { key, where: ['components', section, name], response: api.components[section][name] }
    : { key, where: ['paths', path, method, 'responses', key], response: responses[key] };
}

/** Sends a request to a path of the description and holds the answer to it. `status`: what must come; its body. */
async function call(method, path, status, { values = {}, query, body, headers = {}, base = server.base, isKnown = true } = {}) {
  const filled = path.replace(/\{(\w+)\}/g, (_, key) => encodeURIComponent(values[key] ?? names[key]));
  const sent = { Origin: base, ...(isKnown ? { Cookie: cookie } : {}), ...headers };
  if (body !== undefined && !sent['Content-Type']) Object.assign(sent, JSON_SENT);
  const answer = await fetch(`${base}${filled}${query ? `?${new URLSearchParams(query)}` : ''}`, {
    method: method.toUpperCase(), headers: sent, redirect: 'manual', signal: AbortSignal.timeout(30_000),
    body: body === undefined || typeof body === 'string' || Buffer.isBuffer(body) ? body : JSON.stringify(body),
  });
  const what = `${method} ${path} ${answer.status}`;
  const bytes = Buffer.from(await answer.arrayBuffer());
  assert.equal(answer.status, status, `${what}: ${bytes.subarray(0, 300)}`);
  const { key, where, response } = declared(method, path, status);
  const type = (answer.headers.get('content-type') ?? '').split(';')[0];
  const types = Object.keys(response.content ?? {});
  if (types.length > 0) assert.ok(types.includes(type), `${what}: ${type}`);
  else if (status === 204) assert.equal(bytes.length, 0, what);
  const isJson = /json$/.test(type);
  const parsed = isJson && bytes.length > 0 ? JSON.parse(bytes.toString()) : bytes;
  if (isJson && types.length > 0) fits(validator(...where, 'content', type, 'schema'), parsed, what);
  for (const header of Object.keys(response.headers ?? {})) assert.ok(answer.headers.has(header), `${what}: no ${header}`);
  given.add(`${method} ${path} ${key}`);
  return { body: parsed, headers: answer.headers };
}

/** Waits until a job has ended; its answer. */
async function ended(headers) {
  const id = headers.get('location').split('/').pop();
  for (let k = 0; k < 200; k += 1) {
    const { body } = await call('get', '/api/v1/jobs/{id}', 200, { values: { id } });
    if (body.state !== 'waiting' && body.state !== 'running') return id;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  throw new Error(`the job ${id} does not end`);
}

stage(async (at) => {
  ({ server, cookie } = at);
  const { lots } = await at.json('/api/v1/lots');
  const { places } = await at.json('/api/v1/places');
  names.lot = lots.find((one) => one.phase === 'quarantine');
  names.bin = places.find((one) => one.id === names.lot.place.id);
  names.bench = places.find((one) => one.kind === 'bench');
  names.source = (await at.json('/api/v1/sources')).sources[0];
}, { serve: ['--lan', LAN] });

test('what is asked for by its address', async () => {
  for (const path of ['room', 'today', 'photos', 'print/stocks', 'calendar', 'calendar.ics', 'export', 'backup', 'lots', 'batches', 'pesticides', 'pesticides.csv',
    'sources', 'triage', 'dip', 'places', 'collection', 'builds', 'found', 'threats', 'signs', 'identify', 'jobs', 'timers', 'evening', 'climate', 'names', 'history',
    'session', 'session/room', 'devices', 'lan', 'pairing', 'settings', 'openapi.json']) {
    await call('get', `/api/v1/${path}`, 200);
  }
  for (const of of ['', '/gate', '/batch', '/looks', '/looks/date', '/card']) await call('get', `/api/v1/lots/{id}${of}`, 200, { values: { id: names.lot.id } });
  const { body: lot } = await call('get', '/api/v1/lots/{id}', 200, { values: { id: names.lot.code } });
  await call('get', '/api/v1/lots/{id}/chances/{threat}', 200, { values: { id: names.lot.id, threat: lot.chances[0].threat } });
  for (const of of ['', '/climate', '/suits']) await call('get', `/api/v1/places/{id}${of}`, 200, { values: { id: names.bin.id } });
  await call('get', '/api/v1/sources/{id}', 200, { values: { id: names.source.id } });
  await call('get', '/api/v1/changes', 200, { query: { since: 0 } });
  const { lots } = (await call('get', '/api/v1/lots', 200, { query: { plain: true } })).body;
  await call('get', '/api/v1/prices', 200, { query: { lots: lots.find((one) => one.place.kind === 'bench').id } });
  await call('get', '/api/v1/trace', 200, { query: { of: names.bin.code, threat: lot.chances[0].threat } });
  const { found } = (await call('get', '/api/v1/found', 200)).body;
  await call('get', '/api/v1/found/{id}', 200, { values: { id: found[0].id } });
  await call('get', '/api/v1/complaints', 200);
  await call('get', '/api/v1/print/{what}', 200, { values: { what: 'labels' }, query: { of: names.bin.code } });
  await call('get', '/l/{code}', 303, { values: { code: names.lot.code }, isKnown: false });
  await call('get', '/L/{code}', 303, { values: { code: names.lot.code }, isKnown: false });
});

test('what is recorded, and the same again', async () => {
  const look = () => ({ id: randomUUID(), kind: 'look_done', occurred_at: now(), body: { place: names.bin.id, effort: 'careful' } });
  const one = look();
  const many = { events: [look()] };
  for (const status of [201, 200]) {
    await call('post', '/api/v1/events', status, { body: one, headers: { 'Idempotency-Key': one.id } });
    await call('post', '/api/v1/events/batch', status, { body: many });
  }
  await call('post', '/api/v1/already-here', 200, { body: { id: randomUUID(), occurred_at: now(), text: 'Brook (5 small frogs): 3 Ficus pumila', is_preview: true } });
  const { body: card } = await call('get', '/api/v1/lots/{id}/card', 200, { values: { id: names.lot.id } });
  await call('post', '/api/v1/cards', 201, { body: { id: randomUUID(), occurred_at: now(), source: names.source.id, place: names.bench.id, use: 'stock', card } });
  const sheet = () => ({
    body: 'plant;count\nsheet fern;3\n', headers: CSV_SENT,
    query: { id: randomUUID(), occurred_at: now(), source: names.source.id, place: names.bench.id, form: 'potted', use: 'stock' },
  });
  const { body: taken } = await call('post', '/api/v1/lots/sheet', 200, sheet());
  await call('post', '/api/v1/lots/sheet/undo', 200, { body: { batch: taken.batch } });
  const readings = (day) => ({ values: { id: names.bin.id }, body: `time,temperature C\n2026-01-0${day}T10:00:00Z,21.5\n`, headers: { ...CSV_SENT, 'Idempotency-Key': randomUUID() } });
  const file = readings(1);
  await call('post', '/api/v1/places/{id}/readings/preview', 200, file);
  for (const status of [201, 200]) await call('post', '/api/v1/places/{id}/readings', status, file);
  await call('get', '/api/v1/places/{id}/readings', 200, { values: { id: names.bin.id } });
  const { body: kept } = await call('post', '/api/v1/photos', 201, { body: PHOTO, headers: { 'Content-Type': 'image/jpeg', 'X-Requested-By': 'test' } });
  await call('get', '/api/v1/photos/{sha256}', 200, { values: { sha256: kept.sha256 } });
  const later = { headers: { ...CSV_SENT, Prefer: 'respond-async' } };
  await ended((await call('post', '/api/v1/lots/sheet', 202, { ...sheet(), ...later })).headers);
  const second = readings(2);
  await ended((await call('post', '/api/v1/places/{id}/readings', 202, { ...second, headers: { ...second.headers, ...later.headers } })).headers);
});

test('long work: at once, as a job, its result, cancelled', async () => {
  await call('post', '/api/v1/backup', 201, { body: {} });
  await call('post', '/api/v1/verify', 200, { body: {} });
  const headers = { Prefer: 'respond-async' };
  for (const path of ['/api/v1/backup', '/api/v1/verify']) await ended((await call('post', path, 202, { body: {}, headers })).headers);
  const id = await ended((await call('get', '/api/v1/export', 202, { headers })).headers);
  await call('get', '/api/v1/jobs/{id}/result', 200, { values: { id } });
  await ended((await call('get', '/api/v1/print/{what}', 202, { values: { what: 'labels' }, query: { of: names.bin.code }, headers })).headers);
  await call('delete', '/api/v1/jobs/{id}', 204, { values: { id }, headers: JSON_SENT });
  await call('delete', '/api/v1/jobs/reading', 404, { headers: JSON_SENT }); // nothing is being read
});

test('settings, the calendar and its address', async () => {
  await call('put', '/api/v1/settings/calendar', 204, { body: { zone: 'Europe/Vienna', round_time: '18:00' } });
  await call('put', '/api/v1/settings/labels', 204, { body: { url: 'http://fern.local:8462' } });
  const { body } = await call('post', '/api/v1/calendar/address', 201, { headers: JSON_SENT });
  const token = Object.values(body).map((value) => /\/feed\/([^/]+)\//.exec(value)?.[1]).find(Boolean);
  await call('get', '/feed/{token}/calendar.ics', 200, { values: { token }, isKnown: false });
  await call('delete', '/api/v1/calendar/address', 204, { headers: JSON_SENT });
});

test('a phone is let in, renamed and sent away; the network is opened and closed', async () => {
  const { body: offer } = await call('post', '/api/v1/pairing', 201, { headers: JSON_SENT });
  const base = new URL(offer.url).origin;
  const asks = (body, status) => call('post', '/api/v1/session', status, { body, base, isKnown: false });
  const { body: waiting } = await asks({ key: new URL(offer.url).hash.slice(1), name: 'Sink phone' }, 202);
  await call('post', '/api/v1/pairing/allow', 200, { headers: JSON_SENT });
  const { headers } = await asks({ claim: waiting.claim }, 201);
  const { devices } = (await call('get', '/api/v1/devices', 200)).body;
  const { id } = devices.find((one) => one.name === 'Sink phone');
  await call('put', '/api/v1/devices/{id}', 200, { values: { id }, body: { name: 'Wet phone' } });
  await call('delete', '/api/v1/session', 204, { base, isKnown: false, headers: { ...JSON_SENT, Cookie: headers.get('set-cookie').split(';')[0] } });
  await call('post', '/api/v1/pairing', 201, { headers: JSON_SENT });
  await call('delete', '/api/v1/pairing', 204, { headers: JSON_SENT });
  const again = (await call('post', '/api/v1/pairing', 201, { headers: JSON_SENT })).body;
  const { claim } = (await asks({ key: new URL(again.url).hash.slice(1), name: 'Lent phone' }, 202)).body;
  await call('post', '/api/v1/pairing/allow', 200, { headers: JSON_SENT });
  await asks({ claim }, 201);
  const lent = (await call('get', '/api/v1/devices', 200)).body.devices.find((one) => one.name === 'Lent phone');
  await call('delete', '/api/v1/devices/{id}', 204, { values: { id: lent.id }, headers: JSON_SENT });
  await call('delete', '/api/v1/lan', 200, { headers: JSON_SENT });
  await call('post', '/api/v1/lan', 200, { body: { address: LAN } });
});

const operations = Object.entries(api.paths).flatMap(([path, methods]) =>
  Object.entries(methods).filter(([, operation]) => operation.responses).map(([method, operation]) => ({ path, method, operation })));

test('every operation refuses with a problem', async () => {
  const open = {
    'get /feed/{token}/calendar.ics': [404, { values: { token: 'x' } }],
    'get /l/{code}': [404, { values: { code: 'XXXXXX' }, isKnown: true }],
    'get /L/{code}': [404, { values: { code: 'XXXXXX' }, isKnown: true }],
    'post /api/v1/session': [401, { body: { key: 'spent' } }],
  };
  for (const { path, method, operation } of operations) {
    const values = Object.fromEntries([...path.matchAll(/\{(\w+)\}/g)].map(([, key]) => [key, 'x']));
    const isOpen = operation.security?.length === 0;
    assert.equal(isOpen, `${method} ${path}` in open, `${method} ${path}`);
    const [status, how] = isOpen ? open[`${method} ${path}`] : [401, { values }];
    await call(method, path, status, { isKnown: false, ...(method === 'get' ? {} : { headers: JSON_SENT }), ...how });
  }
});

// What only a moment gives that a test cannot choose from outside; tested where it can be held.
const ELSEWHERE = {
  'delete /api/v1/jobs/reading 204': 'tests/unit/http/test_jobs.c', // a read must be at work just then; it has no body
  'get /api/v1/complaints/{id} 200': 'tests/browser/complaints.test.mjs', // held to its schema there
};

test('every answer that is declared was given', () => {
  const all = operations.flatMap(({ path, method, operation }) => Object.keys(operation.responses).map((status) => `${method} ${path} ${status}`));
  assert.ok(all.length > 150);
  assert.deepEqual(all.filter((one) => !given.has(one) && !(one in ELSEWHERE)), []);
});
