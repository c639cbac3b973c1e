// Light, air and water over the API, held to api/openapi.yaml by ajv (an independent validator of JSON Schema
// 2020-12): a logger's file is looked at, asked about, taken in once, charted, and taken back.
import assert from 'node:assert/strict';
import { randomUUID } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { fitting } from './described.mjs';
import { root, stage } from './support.mjs';

let ask;
let bin;

stage(async (at) => {
  ({ ask } = at);
  const { places } = await (await ask('/api/v1/places')).json();
  bin = places.find((place) => place.kind === 'bin').id;
});

async function fits(response, schema, status = 200) {
  const body = await response.json();
  assert.equal(response.status, status, JSON.stringify(body));
  return fitting(schema, body);
}

const send = (path, body, headers = {}) =>
  ask(path, { method: 'POST', body, headers: { 'Content-Type': 'text/csv', 'X-Requested-By': 'test', ...headers } });
const file = (name) => readFileSync(`${root}tests/reference/loggers/${name}`);

/** A day of readings every five minutes, ending a day ago. */
function day() {
  const first = Date.now() - 2 * 86_400_000;
  const rows = ['time,temperature C,humidity %'];
  for (let k = 0; k < 288; k += 1) {
    const at = new Date(first + k * 300_000).toISOString().slice(0, 19);
    if (k < 100 || k >= 160) rows.push(`${at}Z,${(20 + (k % 24) / 4).toFixed(2)},80.5`);
  }
  return rows.join('\n');
}

test('the climate of the room and of each place fits', async () => {
  const climate = await fits(await ask('/api/v1/climate'), 'Climate');
  assert.ok(climate.places.length > 0);
  for (const { place } of climate.places) await fits(await ask(`/api/v1/places/${place.id}/climate`), 'ClimatePlace');
  assert.match(climate.start.text, /common practice, no source/);
  assert.match(climate.short_days[0].text, /from memory/);
});

test('a file that leaves something open is asked about, and not taken in', async () => {
  const open = await fits(await send(`/api/v1/places/${bin}/readings/preview`, file('ambiguous_day.csv')), 'ReadingsLook');
  assert.deepEqual(open.questions.map(({ question }) => question), ['order', 'unit']);
  assert.match(open.questions[0].choices[0].text, /04\/03\/2026 is 4 March 2026/);
  const refused = await send(`/api/v1/places/${bin}/readings`, file('ambiguous_day.csv'), { 'Idempotency-Key': randomUUID() });
  assert.equal(refused.status, 400);
  const answered = await fits(await send(`/api/v1/places/${bin}/readings/preview?order=mdy&unit=f`, file('ambiguous_day.csv')), 'ReadingsLook');
  assert.equal(answered.questions.length, 0);
  assert.equal(answered.n_new, 12);
  for (const name of ['iso_zone_mark.csv', 'semicolon_comma_cp1252.csv', 'tabs_utf16_fahrenheit.txt', 'quoted_newest_first.csv']) {
    const look = await fits(await send(`/api/v1/places/${bin}/readings/preview`, file(name)), 'ReadingsLook');
    assert.equal(look.questions.length, 0, name);
    assert.ok(look.n_rows > 0, name);
  }
});

test('a file is taken in once, charted with its gap, and undone', async () => {
  const key = randomUUID();
  const text = day();
  assert.equal((await ask(`/api/v1/places/${bin}/readings`)).status, 404);
  await fits(await send(`/api/v1/places/${bin}/readings?name=day.csv`, text, { 'Idempotency-Key': key }), 'Recorded', 201);
  await fits(await send(`/api/v1/places/${bin}/readings?name=day.csv`, text, { 'Idempotency-Key': key }), 'Recorded', 200);
  const again = await fits(await send(`/api/v1/places/${bin}/readings/preview`, text), 'ReadingsLook');
  assert.equal(again.n_known, 228);
  assert.equal(again.n_new, 0);
  const chart = await fits(await ask(`/api/v1/places/${bin}/readings`), 'ReadingsChart');
  assert.equal(chart.n_readings, 228);
  assert.ok(chart.temp.least.length * 2 <= 2000);
  assert.equal(chart.temp.least.filter((value) => value === null).length > 20, true); // five hours
  assert.equal(Math.max(...chart.temp.greatest.filter((value) => value !== null)), 25.75);
  assert.ok(chart.bands.some(({ what }) => what === 'pest'));
  const voided = { id: randomUUID(), kind: 'event_voided', occurred_at: `${new Date().toISOString().slice(0, 19)}Z`, body: { event: key } };
  const undone = await ask('/api/v1/events', { method: 'POST', body: JSON.stringify(voided), headers: { 'Content-Type': 'application/json' } });
  assert.equal(undone.status, 201, await undone.text());
  assert.equal((await ask(`/api/v1/places/${bin}/readings`)).status, 404);
});

test('without X-Requested-By, or from elsewhere, nothing is taken in', async () => {
  const path = `/api/v1/places/${bin}/readings`;
  const plain = await ask(path, { method: 'POST', body: day(), headers: { 'Content-Type': 'text/csv', 'Idempotency-Key': randomUUID() } });
  assert.equal(plain.status, 415);
  const foreign = await send(path, day(), { Origin: 'http://evil.example', 'Idempotency-Key': randomUUID() });
  assert.equal(foreign.status, 403);
  const keyless = await send(path, day());
  assert.equal(keyless.status, 400);
});
