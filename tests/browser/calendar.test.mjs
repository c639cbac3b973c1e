// The calendar at its secret address, read by ical.js, an independent parser of RFC 5545; what the address
// grants (reading, nothing else); and the files of the API: PDF, a label's code, the export, a history
// card, a spreadsheet.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { pathToFileURL } from 'node:url';
import { requireFromWeb, run, stage } from './support.mjs';

const { default: ICAL } = await import(pathToFileURL(requireFromWeb.resolve('ical.js')).href);

let made;
let server;
let ask;

stage((at) => ({ made, server, ask } = at), { prepare: (room) => run(room, 'calendar', 'set', '--zone', 'Europe/Vienna', '--time', '18:00') });

const bounded = () => AbortSignal.timeout(30_000);
/** Without a session, as a calendar or a stranger asks. */
const bare = (path, init = {}) => fetch(server.base + path, { redirect: 'manual', ...init, signal: bounded() });

async function openFeed() {
  const response = await ask('/api/v1/calendar/address', {
    method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{}',
  });
  assert.equal(response.status, 201);
  return (await response.json()).path;
}

test('ical.js reads the feed: ids, times of the zone, alarms, lines', async () => {
  const path = await openFeed();
  const response = await bare(path);
  assert.equal(response.status, 200);
  assert.match(response.headers.get('content-type'), /^text\/calendar; charset=utf-8$/);
  const text = await response.text();
  for (const line of text.split('\r\n')) assert.ok(Buffer.byteLength(line) <= 75, line); // 3.1
  const calendar = new ICAL.Component(ICAL.parse(text));
  assert.equal(calendar.getFirstPropertyValue('version'), '2.0');
  const zone = new ICAL.Timezone(calendar.getFirstSubcomponent('vtimezone'));
  assert.equal(zone.tzid, 'Europe/Vienna');
  // the clock change, by ical.js from the rules in the file: EU rules, last Sundays of March and October
  const offsetAt = (month, day) => zone.utcOffset(new ICAL.Time({ year: 2027, month, day, hour: 18 })) / 3600;
  assert.deepEqual([offsetAt(3, 27), offsetAt(3, 28), offsetAt(10, 30), offsetAt(10, 31)], [1, 2, 2, 1]);
  const events = calendar.getAllSubcomponents('vevent').map((event) => new ICAL.Event(event));
  assert.ok(events.length >= 3);
  assert.equal(new Set(events.map((event) => event.uid)).size, events.length);
  const rounds = events.filter((event) => event.component.getFirstPropertyValue('categories') === 'round');
  assert.ok(rounds.length >= 1);
  for (const round of rounds) {
    assert.equal(round.startDate.hour, 18);
    assert.equal(round.component.getFirstProperty('dtstart').getParameter('tzid'), 'Europe/Vienna');
    const alarm = round.component.getFirstSubcomponent('valarm');
    assert.equal(alarm.getFirstPropertyValue('action'), 'DISPLAY');
  }
  for (const event of events.filter((one) => one.startDate.isDate)) assert.equal(event.duration.toSeconds(), 86_400);
});

test('the address grants reading the calendar, and nothing else', async () => {
  const path = await openFeed();
  const token = path.split('/')[2];
  assert.match(token, /^[0-9a-f]{64}$/);
  for (const headers of [{ Authorization: `Bearer ${token}` }, { Cookie: `fernlock=${token}` }]) {
    for (const closed of ['/api/v1/room', '/api/v1/calendar.ics', '/api/v1/export', '/api/v1/print/labels']) {
      assert.equal((await bare(closed, { headers })).status, 401, closed);
    }
  }
  assert.equal((await bare(path, { method: 'DELETE' })).status >= 400, true);
  assert.equal((await bare(path.replace(token, token.replace(/.$/, (c) => (c === '0' ? '1' : '0'))))).status, 404);
  assert.equal((await bare(path.replace(token, 'x'))).status, 404);
  assert.equal((await bare(path)).status, 200);
  // another address closes this one, and so does closing
  const other = await openFeed();
  assert.equal((await bare(path)).status, 404);
  assert.equal((await bare(other)).status, 200);
  assert.equal((await (await ask('/api/v1/calendar')).json()).is_open, true);
  const closed = await ask('/api/v1/calendar/address', { method: 'DELETE', headers: { 'Content-Type': 'application/json' } });
  assert.equal(closed.status, 204);
  assert.equal((await bare(other)).status, 404);
  assert.equal((await (await ask('/api/v1/calendar')).json()).is_open, false);
});

test('the same address gives the same bytes until something changes', async () => {
  const path = await openFeed();
  const first = await bare(path);
  const text = await first.text();
  assert.equal(await (await bare(path)).text(), text);
  const again = await bare(path, { headers: { 'If-None-Match': first.headers.get('etag') } });
  assert.equal(again.status, 304);
});

test('labels and sheets come as PDF, and a label leads to its lot', async () => {
  const { lots } = await (await ask('/api/v1/lots')).json();
  const lot = lots[0];
  for (const what of [`labels?of=${lot.code}`, 'test-page?stock=roll-62x29', 'round', 'sitter', `card?of=${lot.code}`]) {
    const response = await ask(`/api/v1/print/${what}`);
    assert.equal(response.status, 200, what);
    assert.equal(response.headers.get('content-type'), 'application/pdf');
    assert.match(response.headers.get('content-disposition'), /^attachment; filename="[a-z-]+\.pdf"$/);
    assert.equal(Buffer.from(await response.arrayBuffer()).subarray(0, 5).toString(), '%PDF-');
  }
  assert.equal((await ask('/api/v1/print/nothing')).status, 404);
  assert.equal((await ask('/api/v1/print/labels?of=ZZZZZZ')).status, 404);
  for (const path of [`/L/${lot.code}`, `/l/${lot.code.toLowerCase()}`]) {
    const led = await ask(path);
    assert.equal(led.status, 303, path);
    assert.equal(led.headers.get('location'), `/lots/${lot.id}`);
    const stranger = await bare(path); // is told nothing of what there is
    assert.equal(stranger.status, 303);
    assert.equal(stranger.headers.get('location'), `/?to=/l/${path.slice(3)}`); // there, once signed in
  }
});

test('the whole room comes as a zip, and is a room again', async () => {
  const response = await ask('/api/v1/export');
  assert.equal(response.status, 200);
  assert.equal(response.headers.get('content-type'), 'application/zip');
  const bytes = Buffer.from(await response.arrayBuffer());
  assert.equal(bytes.subarray(0, 2).toString(), 'PK');
  const { writeFileSync } = await import('node:fs');
  writeFileSync(`${made.room}/../room.zip`, bytes);
  run(`${made.room}/../back`, 'import', `${made.room}/../room.zip`);
  const count = (room) => JSON.parse(run(room, 'verify', '--json')).events;
  assert.equal(count(`${made.room}/../back`), count(made.room));
});

test('a card goes out and comes in, told by another', async () => {
  const { lots } = await (await ask('/api/v1/lots')).json();
  const card = await (await ask(`/api/v1/lots/${lots[0].id}/card`)).json();
  assert.equal(card.format, 'fernlock-history');
  assert.match(card.notice, /no official phytosanitary document/);
  const { places } = await (await ask('/api/v1/places')).json();
  const bench = places.find(({ kind }) => kind === 'bench');
  const source = (await (await ask(`/api/v1/lots/${lots.find((lot) => lot.source)?.id ?? lots[0].id}`)).json()).source;
  const body = {
    id: 'bbbbbbbb-0000-4000-8000-000000000001', occurred_at: new Date(Date.now() - 60_000).toISOString(),
    source: source.id, place: bench.id, card,
  };
  const take = () => ask('/api/v1/cards', {
    method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body),
  });
  const first = await take();
  const said = await first.json();
  assert.equal(first.status, 201, JSON.stringify(said));
  assert.equal(said.teller, card.from);
  assert.equal((await (await take()).json()).lot_id, said.lot_id);
  const taken = await (await ask(`/api/v1/lots/${said.lot_id}`)).json();
  assert.equal(taken.told.length, said.lines);
  assert.ok(taken.told.every((line) => line.teller === card.from));
});

test('lots from a spreadsheet are looked at, recorded once, and taken back', async () => {
  const { places } = await (await ask('/api/v1/places')).json();
  const bench = places.find(({ kind }) => kind === 'bench');
  const { lots } = await (await ask('/api/v1/lots')).json();
  const source = (await (await ask(`/api/v1/lots/${lots.find((lot) => lot.source)?.id ?? lots[0].id}`)).json()).source;
  const query = new URLSearchParams({
    id: 'cccccccc-0000-4000-8000-000000000001', occurred_at: new Date(Date.now() - 60_000).toISOString().slice(0, 19) + 'Z',
    source: source.id, place: bench.id, form: 'potted', use: 'stock',
  });
  const send = (extra) => ask(`/api/v1/lots/sheet?${query}${extra}`, {
    method: 'POST', headers: { 'Content-Type': 'text/csv', 'X-Requested-By': 'test' }, body: 'plant;count\nsheet fern;3\n',
  });
  const preview = await (await send('&preview=1')).json();
  assert.deepEqual([preview.is_recorded, preview.rows.length, preview.delimiter], [false, 1, ';'], JSON.stringify(preview));
  const taken = await (await send('')).json();
  assert.equal(taken.is_recorded, true);
  assert.equal((await (await send('')).json()).batch, taken.batch);
  const named = async () => (await (await ask('/api/v1/lots')).json()).lots.filter(({ name }) => name === 'sheet fern').length;
  assert.equal(await named(), 1);
  const undo = await ask('/api/v1/lots/sheet/undo', {
    method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ batch: taken.batch }),
  });
  assert.equal(undo.status, 200);
  assert.equal(await named(), 0);
});
