// The API against its own description, api/openapi.yaml: ajv, an independent validator of JSON Schema
// 2020-12, holds every example and every answer of the running server to its schema.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { api, fits, validator } from './described.mjs';
import { stage } from './support.mjs';

let server;
let ask;

stage((at) => ({ server, ask } = at));

const operations = Object.entries(api.paths).flatMap(([path, methods]) =>
  Object.entries(methods).map(([method, operation]) => ({ path, method, operation })),
);

test('every operation has an id of its own, examples and a default problem', () => {
  const ids = new Set();
  for (const { path, method, operation } of operations) {
    assert.ok(operation.operationId && !ids.has(operation.operationId), `${method} ${path}`);
    ids.add(operation.operationId);
    assert.equal(operation.responses.default?.$ref, '#/components/responses/Problem', `${method} ${path}`);
    for (const [status, response] of Object.entries(operation.responses)) {
      const body = response.content?.['application/json'];
      if (body) assert.ok(body.example !== undefined, `${method} ${path} ${status} has no example`);
    }
  }
});

test('every example fits its schema', () => {
  let n = 0;
  for (const { path, method, operation } of operations) {
    const where = ['paths', path, method];
    for (const [status, response] of Object.entries(operation.responses)) {
      const body = response.content?.['application/json'];
      if (!body) continue;
      fits(validator(...where, 'responses', status, 'content', 'application/json', 'schema'), body.example, `${method} ${path} ${status}`);
      n += 1;
    }
    const sent = operation.requestBody?.content['application/json'];
    if (sent) fits(validator(...where, 'requestBody', 'content', 'application/json', 'schema'), sent.example, `${method} ${path}`);
  }
  const { content } = api.components.responses.Problem;
  fits(validator('components', 'schemas', 'Problem'), content['application/problem+json'].example, 'problem');
  assert.ok(n >= 12);
});

async function answer(path, schema) {
  const response = await ask(path);
  const body = await response.json();
  assert.equal(response.status, 200, `${path}: ${JSON.stringify(body)}`);
  assert.match(response.headers.get('content-type'), /^application\/json/);
  fits(validator('components', 'schemas', schema), body, path);
  return body;
}

test('the room, today and the changes fit', async () => {
  const room = await answer('/api/v1/room', 'Room');
  assert.equal(room.name, 'The test room');
  assert.equal(room.counts.events, 60); // 59 of room.jsonl, and the settings
  const today = await answer('/api/v1/today', 'Today');
  assert.ok(today.lines.length <= 5);
  assert.deepEqual(today.lines.slice(0, 3).map((line) => line.kind), ['hold', 'prep', 'place']);
  const changes = await answer('/api/v1/changes?since=0', 'Changes');
  assert.equal(changes.is_changed, true);
  assert.equal(changes.position, room.position);
});

test('every lot and its gate for every use fit', async () => {
  const { lots } = await answer('/api/v1/lots', 'Lots');
  assert.equal(lots.length, 11);
  for (const lot of lots) {
    const whole = await answer(`/api/v1/lots/${lot.id}`, 'Lot');
    assert.equal(whole.name, lot.name);
    assert.deepEqual(whole.gate.uses, [lot.use]);
  }
  for (const use of ['plants_only', 'reptile', 'invertebrate', 'amphibian', 'stock', 'amphibian,invertebrate']) {
    const gate = await answer(`/api/v1/lots/${lots[0].code}/gate?use=${use}`, 'Gate');
    assert.deepEqual([...gate.uses].sort(), use.split(',').sort());
    assert.equal(gate.is_open, gate.conditions.every((condition) => condition.is_met));
  }
});

test('every place fits', async () => {
  const { places } = await answer('/api/v1/places', 'Places');
  assert.equal(places.length, 9);
  for (const place of places) await answer(`/api/v1/places/${place.id}`, 'Place');
  await answer(`/api/v1/places/${encodeURIComponent('Bin 2')}`, 'Place');
});

test('what each place would cost fits, for one lot and for two', async () => {
  const { lots } = await answer('/api/v1/lots', 'Lots');
  const onBench = lots.filter((lot) => lot.place.kind === 'bench');
  const { prices } = await answer(`/api/v1/prices?lots=${onBench[0].id}`, 'Prices');
  assert.equal(prices.length, 5);
  assert.ok(prices.filter((price) => price.is_best).length <= 1);
  for (const price of prices) {
    assert.ok(price.text.startsWith(price.place.name), price.text);
    assert.ok(price.text.includes(price.own_date_text), price.text);
    assert.equal(price.own_on === null, price.own_date_text === 'no date within half a year');
    if (price.is_free) assert.equal(price.price_text, null);
  }
  const both = onBench.slice(0, 2).map((lot) => lot.code).join(',');
  assert.equal((await answer(`/api/v1/prices?lots=${both}`, 'Prices')).prices.length, 5);
});

test('a timer fits, and goes by its start', async () => {
  assert.deepEqual((await answer('/api/v1/timers', 'Timers')).timers, []);
});

test('the evening fits, and what it offers to record is an event', async () => {
  const pink = await answer('/api/v1/dip?agent=permanganate&target=2&minutes=60&total_ml=10000', 'Dip');
  assert.equal(pink.crystals_mg, 20); // 2 mg/L in 10 L
  assert.ok(pink.effects.some((e) => e.organism === 'ranavirus' && e.outcome === 'fails')); // Bryan 2009: 2 and 5 mg/L, 60 min
  assert.ok(pink.tested.every((e) => e.source_text !== '')); // every tested point names its work
  assert.equal((await answer('/api/v1/dip?agent=soap', 'Dip')).agent, 'soap');
  await problem('/api/v1/dip?agent=bleach&with=acid', 400);
  await problem('/api/v1/dip?agent=peroxide&animals_in=true', 400);
  const door = await answer('/api/v1/triage', 'Triage');
  assert.ok(door.lots.length > 0 && door.lots.every((one) => one.options.length === 4));
  assert.equal((await answer(`/api/v1/triage?lots=${door.lots[0].lot.code}&bin_week=0&times_price=3&tip_share=0.9`, 'Triage')).lots.length, 1);
  await problem('/api/v1/triage?lots=XXXXXX', 404);
  await problem('/api/v1/triage?tip_share=2', 422);
  const evening = await answer('/api/v1/evening', 'Evening');
  assert.ok(evening.lots.length >= 1 && evening.items.length > evening.lots.length);
  assert.equal(evening.items.at(-1).start_at >= evening.items[0].start_at, true);
  const one = await answer('/api/v1/evening?tubs=2&lost=2&start=2026-03-07T19:00:00Z&tub_ml=2000&label_pct=6&all=1', 'Evening');
  assert.deepEqual(one.tubs_lost, [2]);
  assert.equal(one.start_at, '2026-03-07T19:00:00Z');
  assert.ok(one.items.every((item) => item.tub === null || item.tub === 1));
  await problem('/api/v1/evening?tubs=0', 422);
  await problem('/api/v1/evening?tubs=1&lost=1', 422);
});

test('every number of every lot opens, and ends at the number itself', async () => {
  const { lots } = await answer('/api/v1/lots', 'Lots');
  let opened = 0;
  for (const { id } of lots) {
    const lot = await answer(`/api/v1/lots/${id}`, 'Lot');
    for (const chance of lot.chances.slice(0, 4)) {
      const course = await answer(`/api/v1/lots/${id}/chances/${chance.threat}`, 'Course');
      const last = course.points.at(-1);
      assert.ok(Math.abs(last.prob - chance.prob) < 1e-9, `${lot.name} ${chance.threat}`);
      assert.ok(Math.abs(last.prob_most - chance.prob_most) < 1e-9);
      assert.deepEqual([...course.points].sort((a, b) => a.at.localeCompare(b.at)), course.points);
      const looks = course.marks.filter((mark) => mark.kind === 'look');
      for (const look of looks) assert.ok(look.prob_after <= look.prob_before + 1e-12, `${look.text} ${look.prob_before} ${look.prob_after}`);
      const t = course.temperatures;
      const hours = (Date.parse(last.at) - Date.parse(course.points[0].at)) / 3_600_000;
      const told = t.measured_h + t.interpolated_h + t.told_h + t.assumed_h;
      assert.ok(told <= hours + 1, `${told} of ${hours}`);
      opened += 1;
    }
  }
  assert.ok(opened >= 30);
});

test('the look plan and its what-ifs fit, at every step of a slider', async () => {
  const { lots } = await answer('/api/v1/lots', 'Lots');
  const lot = lots.find((one) => one.phase === 'quarantine');
  const looks = await answer(`/api/v1/lots/${lot.id}/looks`, 'Looks');
  assert.equal(looks.what_ifs.length, 7);
  for (const what of looks.what_ifs) {
    const gain = what.days_sooner;
    if (!what.applies) assert.equal(gain ?? 0, 0, what.text);
    if (what.kind === 'fortnight' && gain !== null) assert.ok(gain <= 0, what.text);
  }
  const same = await answer(`/api/v1/lots/${lot.id}/looks/date`, 'LooksDate');
  assert.deepEqual(same.plants, []);
  const rare = await answer(`/api/v1/lots/${lot.id}/looks/date?every_days=14&temp_c=25&effort=glance`, 'LooksDate');
  assert.ok((rare.release_on ?? '9999') >= (same.release_on ?? '9999'));
  assert.ok(rare.plants.length > 0);
  // how soon a slider is answered: bench/run-web
  for (let every = 5; every < 26; every += 5) {
    await answer(`/api/v1/lots/${lot.id}/looks/date?every_days=${every}&devices=yellow_card`, 'LooksDate');
  }
});

test('names and history fit, and a voided event is marked', async () => {
  const names = await answer('/api/v1/names', 'Names');
  assert.deepEqual(names.words.use.map(({ word }) => word), ['plants_only', 'reptile', 'invertebrate', 'amphibian', 'stock']);
  assert.equal(names.sources.length, 4);
  assert.ok(names.plants.some(({ name }) => name === 'Moon valley') && names.known_plants.length > 50);
  assert.ok(names.threats.some(({ threat }) => threat === 'fungus_gnat'));
  const all = await answer('/api/v1/history?limit=500', 'History');
  assert.equal(all.is_more, false);
  assert.ok(all.events.every((event, k) => k === 0 || event.at <= all.events[k - 1].at));
  const three = await answer('/api/v1/history?limit=3', 'History');
  assert.deepEqual(three.events, all.events.slice(0, 3));
  assert.equal(three.is_more, true);
  const { places } = await (await ask('/api/v1/places')).json();
  const ofBin = await answer(`/api/v1/history?place=${places.find(({ name }) => name === 'Bin 2').code}`, 'History');
  assert.ok(ofBin.events.length > 0 && ofBin.events.length < all.events.length);
  const { lots } = await (await ask('/api/v1/lots')).json();
  const ofLot = await answer(`/api/v1/history?lot=${lots[0].code}`, 'History');
  assert.ok(ofLot.events.some(({ kind }) => kind === 'lot_arrived' || kind === 'lot_cut' || kind === 'lot_already_here'));
  await problem('/api/v1/history?limit=0', 422);
  await problem('/api/v1/history?lot=XXXXXX', 404);
});

test('sources fit, count purchases, and say what they have taught', async () => {
  const { sources } = await answer('/api/v1/sources', 'Sources');
  assert.ok(sources.length >= 3);
  for (const { id, own_purchases } of sources) {
    const source = await answer(`/api/v1/sources/${id}`, 'Source');
    assert.equal(source.is_mostly_judgement, own_purchases < 20);
    assert.equal(source.judgement_text === null, own_purchases >= 20);
    const bought = source.purchases.flatMap((purchase) => purchase.lots);
    assert.equal(bought.length, source.lots_bought);
    assert.equal(source.forms.reduce((sum, form) => sum + form.lots, 0), source.lots_bought);
    assert.ok(source.purchases_counted <= source.purchases.length); // material counts for nothing
    for (const risk of source.threats) {
      assert.ok(risk.purchases_judged <= risk.purchases + 1e-9 && risk.purchases_found <= risk.purchases);
      assert.ok(risk.prob_next_low <= risk.prob_next_high, risk.text); // a rare risk's mean may be above both
      if (risk.purchases_found === 0) assert.ok(risk.prob_next <= risk.prob_kind + 1e-9, risk.text);
    }
  }
});

async function problem(path, status, init) {
  const response = await ask(path, init);
  const body = await response.json();
  assert.equal(response.status, status, `${path}: ${JSON.stringify(body)}`);
  assert.match(response.headers.get('content-type'), /^application\/problem\+json/);
  fits(validator('components', 'schemas', 'Problem'), body, path);
  assert.equal(body.status, status);
  return body;
}

test('what is not there, and what cannot be read, is a problem that says so', async () => {
  assert.match((await problem('/api/v1/lots/XXXXXX', 404)).detail, /XXXXXX/);
  assert.match((await problem('/api/v1/places/nowhere', 404)).detail, /nowhere/);
  assert.match((await problem('/api/v1/lots/Nerve%20plant', 400)).detail, /Nerve plant/); // two of that name
  const { lots } = await (await ask('/api/v1/lots')).json();
  assert.match((await problem(`/api/v1/lots/${lots[0].code}/gate?use=dragon`, 400)).detail, /dragon/);
  assert.match((await problem(`/api/v1/lots/${lots[0].code}/chances/dragon`, 404)).detail, /dragon/);
  assert.match((await problem(`/api/v1/lots/${lots[0].code}/chances/chytrid_bd`, 404)).detail, /./);
  assert.match((await problem(`/api/v1/lots/${lots[0].code}/looks?every_days=2`, 422)).detail, /2/);
  assert.match((await problem(`/api/v1/lots/${lots[0].code}/looks/date?effort=hard`, 400)).detail, /hard/);
  assert.match((await problem('/api/v1/prices', 400)).detail, /no lot was named/);
  assert.match((await problem('/api/v1/prices?lots=XXXXXX', 404)).detail, /XXXXXX/);
  await problem('/api/v1/nothing', 404);
});

test('an event is recorded once, however often it is sent', async () => {
  const { places } = await (await ask('/api/v1/places')).json();
  const place = places.find(({ name }) => name === 'Bin 3').id;
  const now = new Date(Date.now() - 60_000).toISOString().slice(0, 19);
  const event = {
    id: 'aaaaaaaa-0000-4000-8000-000000000001', kind: 'look_done', occurred_at: `${now}Z`, body: { place, effort: 'careful' },
  };
  const post = (body, key = body.id) =>
    ask('/api/v1/events', {
      method: 'POST', headers: { 'Content-Type': 'application/json', 'Idempotency-Key': key }, body: JSON.stringify(body),
    });
  const before = (await (await ask('/api/v1/room')).json()).position;
  const first = await post(event);
  const said = await first.json();
  assert.equal(first.status, 201, JSON.stringify(said));
  fits(validator('components', 'schemas', 'Recorded'), said, 'first');
  assert.equal(said.position, before + 1);
  const second = await post(event);
  const again = await second.json();
  assert.equal(second.status, 200);
  fits(validator('components', 'schemas', 'Recorded'), again, 'second');
  assert.deepEqual([again.already, again.position], [1, said.position]);
  const other = await post({ ...event, body: { place, effort: 'glance' } });
  assert.ok([409, 422].includes(other.status), `${other.status}`);
  fits(validator('components', 'schemas', 'Problem'), await other.json(), 'other content');
  const looks = (await (await ask(`/api/v1/places/${place}`)).json()).looks;
  assert.equal(looks.filter((look) => look.event_id === event.id).length, 1);
});

test('the server gives its own description, whole', async () => {
  const response = await ask('/api/v1/openapi.json');
  assert.equal(response.status, 200);
  assert.deepEqual(await response.json(), api);
});

test('nothing is answered without a session', async () => {
  for (const { path, method, operation } of operations) {
    if (operation.security?.length === 0) continue; // signing in, a label's code, the calendar's secret address
    const response = await fetch(server.base + path.replace(/\{[a-z]+\}/g, 'x'), {
      method: method.toUpperCase(),
      headers: { Origin: server.base, 'Content-Type': 'application/json' },
      ...(method === 'post' ? { body: '{}' } : {}),
      signal: AbortSignal.timeout(10_000),
    });
    assert.equal(response.status, 401, `${method} ${path}`);
  }
});
