// What follows a find, over the API: held to api/openapi.yaml by ajv (an independent validator of JSON Schema
// 2020-12); a find is recorded, named, traced, acted on and taken back, each as an event of its own.
import assert from 'node:assert/strict';
import { randomUUID } from 'node:crypto';
import { test } from 'node:test';
import { fitting } from './described.mjs';
import { run, stage } from './support.mjs';

let ask;
let made;
let animal;
let places;

async function answer(path, schema) {
  const response = await ask(path);
  const body = await response.json();
  assert.equal(response.status, 200, `${path}: ${JSON.stringify(body)}`);
  return fitting(schema, body, path);
}

const now = (back = 0) => `${new Date(Date.now() - 1000 - back).toISOString().slice(0, 19)}Z`;

async function post(event) {
  const response = await ask('/api/v1/events', {
    method: 'POST', headers: { 'Content-Type': 'application/json', 'Idempotency-Key': event.id }, body: JSON.stringify(event),
  });
  const body = await response.json();
  assert.ok([200, 201].includes(response.status), JSON.stringify(body));
  return response.status;
}

const record = (kind, body, back) => post({ id: randomUUID(), kind, occurred_at: now(back), body });
const place = (name) => places.find((found) => found.name === name);

stage(async (at) => {
  ({ made, ask } = at);
  places = (await answer('/api/v1/places', 'Places')).places;
  animal = places.find((found) => found.kind === 'enclosure' && found.uses?.includes('amphibian'));
});

test('the list begins with five lines, and its finds with the last', async () => {
  const { first, first_animals: animals, found } = await answer('/api/v1/found', 'Found');
  // the first screen: close the lid, open nothing else, wash hands, mark the bin, take a photo
  for (const [i, word] of [/lid/, /nothing else/, /hands/, /[Mm]ark/, /photo/].entries()) assert.match(first[i], word);
  assert.ok(animals.some((line) => /vet/.test(line)));
  assert.equal(found.length, 1);
  assert.equal(found[0].is_held, true);
  const one = await answer(`/api/v1/found/${found[0].code}`, 'FoundOne');
  assert.deepEqual(one.of, found[0]);
  assert.equal(one.outbreak.state, 'open');
  assert.ok(one.outbreak.trace.sources.length > 0);
  const sum = one.outbreak.trace.sources.reduce((total, source) => total + source.prob, 0);
  assert.ok(sum > 0.95 && sum <= 1 + 1e-9, `${sum}`); // the least are left out
  for (const source of one.outbreak.trace.sources) {
    assert.ok(source.chain.length > 0);
    const days = source.chain.map((contact) => contact.at);
    assert.deepEqual(days, [...days].sort());
  }
});

test('the command line and the API say the same of an outbreak', async () => {
  const { found } = await answer('/api/v1/found', 'Found');
  const { outbreak } = await answer(`/api/v1/trace?of=${encodeURIComponent('Bin 2')}`, 'Traced');
  const said = JSON.parse(run(made.room, '--json', 'trace', found[0].code)).outbreak;
  const still = ({ proposals, ...rest }) => ({ ...rest, proposals: proposals.map(({ events, ...kept }) => ({ ...kept, at: kept.at && kept.at.slice(0, 10), events: events.length })) });
  assert.deepEqual(still(outbreak).story, still(said).story);
  assert.deepEqual(still(outbreak).proposals, still(said).proposals);
  assert.deepEqual(outbreak.first, said.first);
});

test('what a find can be named', async () => {
  const { threats, look_alikes: alike } = await answer('/api/v1/threats', 'Threats');
  assert.equal(threats.length, 21);
  assert.ok(threats.every(({ class: kind, stages }) => kind === 'pathogen' || stages.length > 0));
  assert.ok(alike.some(({ code }) => code === 'springtail'));
});

test('the aid asks, ranks, and knows "cannot tell"', async () => {
  const { signs } = await answer('/api/v1/signs', 'Signs');
  // what the issue lists that can be seen
  for (const sign of ['where', 'size', 'colour', 'moves', 'jumps', 'flies', 'webbing', 'slime', 'cottony', 'cover', 'galls', 'damage']) {
    assert.ok(signs.some((found) => found.sign === sign), sign);
  }
  const none = await answer('/api/v1/identify', 'Ident');
  assert.ok(none.next.values.length > 1 && none.ranking.length >= 3);
  const jumps = await answer(`/api/v1/identify?answers=${encodeURIComponent('where:mix_surface,jumps:yes')}`, 'Ident');
  assert.equal(jumps.ranking[0].code, 'springtail'); // they spring when touched; thrips larvae never do
  assert.equal(jumps.ranking[0].is_harmless, true);
  const unsure = await answer('/api/v1/identify?answers=where:mix_surface,jumps:cannot_tell', 'Ident');
  const plain = await answer('/api/v1/identify?answers=where:mix_surface', 'Ident');
  assert.deepEqual(unsure.ranking, plain.ranking);
  assert.notEqual(unsure.next.sign, 'jumps');
  const bad = await ask('/api/v1/identify?answers=wings:many');
  assert.equal(bad.status, 400);
  assert.match((await bad.json()).detail, /wings/);
});

test('found without a name, named later, acted on, and taken back', async () => {
  const bin = place('Bin 3');
  const finding = randomUUID();
  await record('look_done', { place: bin.id, effort: 'careful', findings: [{ finding, what: 'pale, under a leaf' }] }, 5000);
  let one = await answer(`/api/v1/found/${finding}`, 'FoundOne');
  assert.equal(one.of.is_named, false);
  assert.equal(one.outbreak.trace, null);
  assert.deepEqual(one.outbreak.proposals.map(({ kind }) => kind), ['name']);
  await record('finding_identified', { finding, threat: 'citrus_mealybug', stage: 'adult' }, 4000);
  one = await answer(`/api/v1/found/${finding}`, 'FoundOne');
  assert.equal(one.of.name, 'citrus mealybug');
  for (const { was_on: was, now_on: is } of one.dates) assert.ok(is === null || (was !== null && was <= is)); // never sooner
  const { proposals } = one.outbreak;
  const kinds = new Set(proposals.map(({ kind }) => kind));
  for (const kind of ['treat', 'clean', 'look', 'discard', 'tools']) assert.ok(kinds.has(kind), kind);
  for (const { kind, events, records_text: text } of proposals) {
    assert.equal(/^Nothing to record/.test(text), events.length === 0, kind);
  }
  // each by itself: a cleaning, accepted twice, is one event
  const clean = proposals.find(({ kind }) => kind === 'clean');
  assert.equal(await post(clean.events[0]), 201);
  assert.equal(await post(clean.events[0]), 200);
  one = await answer(`/api/v1/found/${finding}`, 'FoundOne');
  assert.ok(one.outbreak.story.some(({ kind }) => kind === 'cleaned'));
  await new Promise((go) => setTimeout(go, 2100)); // the cleaning is a second old, and before what follows
  await record('finding_retracted', { finding, why: 'bloom of the leaf' });
  one = await answer(`/api/v1/found/${finding}`, 'FoundOne');
  assert.equal(one.outbreak.state, 'retracted');
  assert.equal(one.outbreak.proposals.length, 0);
  assert.ok(one.outbreak.story.some(({ kind }) => kind === 'cleaned')); // what was done stays done
  const now3 = await answer(`/api/v1/places/${bin.id}`, 'Place');
  assert.equal(now3.is_held, false);
});

test('an animal that died: both ways, a vet, and nothing that treats animals', async () => {
  assert.ok(animal, 'the room has an enclosure with amphibians');
  const id = randomUUID();
  await post({ id, kind: 'animal_noted', occurred_at: now(), body: { place: animal.id, what: 'died', animal: 'a frog' } });
  const { of, outbreak } = await answer(`/api/v1/found/${id}`, 'FoundOne');
  assert.deepEqual([of.kind, of.text, of.is_held], ['animal', 'a frog died', true]);
  assert.equal(outbreak.is_about_animals, true);
  assert.equal(outbreak.trace.is_threat_assumed, true);
  assert.equal(outbreak.proposals[0].kind, 'vet');
  for (const { kind } of outbreak.proposals) assert.ok(!['treat', 'card'].includes(kind), kind);
  assert.equal((await answer('/api/v1/found', 'Found')).found[0].id, id);
});

test('a pesticide is followed to every cutting', async () => {
  const { lots } = await answer('/api/v1/lots', 'Lots');
  const mother = lots.find((lot) => lot.origin === 'lot_arrived' && lot.place?.kind === 'bin');
  const plain = await ask(`/api/v1/trace?of=${mother.id}`);
  assert.equal(plain.status, 400); // nothing was found, nothing is on record: say what to trace
  const cutting = randomUUID();
  await record('step_done', { steps: [{ step: 'soak', agent: 'pesticide', product: 'imidacloprid', lots: [mother.id] }] }, 3000);
  await record('lot_cut', { mother: mother.id, lot: cutting, count: 1, form: 'unrooted_cutting', use: 'amphibian', place: animal.id }, 2000);
  const { outbreak, trace, residue } = await answer(`/api/v1/trace?of=${mother.id}`, 'Traced');
  assert.deepEqual([outbreak, trace], [null, null]);
  assert.equal(residue.is_systemic, true);
  assert.deepEqual(residue.lots.map(({ lot }) => lot.id).sort(), [mother.id, cutting].sort());
  const there = residue.lots.find(({ lot }) => lot.id === cutting);
  assert.deepEqual([there.is_with_animals, there.is_ok_for_use, there.why], [true, false, 'systemic']);
  assert.ok(residue.proposals.some(({ kind, lot }) => kind === 'move' && lot.id === cutting));
});

test('what cannot be asked says so', async () => {
  for (const [path, status, word] of [
    ['/api/v1/found/XXXXXX', 404, /XXXXXX/],
    ['/api/v1/trace', 400, /of is missing/],
    ['/api/v1/trace?of=nowhere', 404, /nowhere/],
    [`/api/v1/trace?of=${encodeURIComponent('Bin 2')}&threat=dragon`, 400, /dragon/],
    [`/api/v1/trace?of=${encodeURIComponent('Bin 2')}&from=2026-03-05&to=2026-03-01`, 400, /from is after to/],
    [`/api/v1/trace?of=${encodeURIComponent('Bin 2')}&from=yesterday`, 400, /yesterday/],
  ]) {
    const response = await ask(path);
    const body = await response.json();
    assert.equal(response.status, status, `${path}: ${JSON.stringify(body)}`);
    assert.match(body.detail, word);
  }
});
