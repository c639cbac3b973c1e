// A room of many lots: the lists stand at once, a part at a time, and ask the gate only for what they show. The same
// events with larger numbers are measured by bench/run-web (docs/bench.md).
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { test } from 'node:test';
import { bigRoom } from '../../bench/big-room.mjs';
import { fitting } from './described.mjs';
import { VIEWS, newContext, open, program, shown, stage } from './support.mjs';

const LOTS = 120;
const BINS = 48;
let at;
let context;
let errors;
let page;
const asked = [];

stage(async (all) => {
  at = all;
  ({ context, errors } = await newContext(at.browser, VIEWS.laptop, at.server.base, at.cookie));
  page = await context.newPage();
  page.on('request', (request) => {
    if (request.url().includes('/api/v1/')) asked.push(new URL(request.url()).pathname + new URL(request.url()).search);
  });
}, {
  isEmpty: true,
  browser: true,
  prepare: (room) => {
    const lines = bigRoom({ lots: LOTS, bins: BINS }).map((event) => JSON.stringify(event)).join('\n');
    execFileSync(program(), ['--room', room, 'record', '-', '--together'], { input: `${lines}\n`, timeout: 60_000 });
  },
});

test('a plain list asks nothing of the gate; only gives these, in this order', async () => {
  const { lots } = fitting('Lots', await at.json('/api/v1/lots?plain=true'));
  assert.ok(lots.length > LOTS * 0.9); // some were given away
  assert.ok(lots.every((lot) => lot.answer_text === null && lot.worst === null));
  const codes = lots.filter((lot) => lot.phase === 'quarantine').slice(0, 3).map((lot) => lot.code).reverse();
  const only = fitting('Lots', await at.json(`/api/v1/lots?only=${codes.join(',')}`));
  assert.deepEqual(only.lots.map((lot) => lot.code), codes);
  assert.ok(only.lots.every((lot) => lot.answer_text && lot.worst));
  const whole = fitting('Lot', await at.json(`/api/v1/lots/${codes[0]}`));
  assert.equal(only.lots[0].answer_text, whole.gate.answer_text);

  const { places } = fitting('Places', await at.json('/api/v1/places?plain=true'));
  const bin = places.find((place) => place.lots.some((lot) => lot.phase === 'quarantine'));
  assert.equal(bin.opens_text, null);
  const [same, ...others] = fitting('Places', await at.json(`/api/v1/places?only=${bin.code}`)).places;
  assert.equal(others.length, 0);
  assert.ok(same.opens_text);

  const { plants } = fitting('Collection', await at.json('/api/v1/collection?plain=true'));
  const asking = plants.find((plant) => plant.lots.some((lot) => lot.phase === 'quarantine'));
  const one = fitting('Collection', await at.json(`/api/v1/collection?only=${asking.lots[0].lot.code}`)).plants;
  assert.deepEqual(one.map((plant) => plant.name), [asking.name]);
  assert.ok(one[0].lots.every((lot) => lot.quiet_for_text));

  const plain = fitting('Today', await at.json('/api/v1/today?plain=true'));
  assert.ok(plain.lines.every((line) => line.kind !== 'release'));
  for (const bad of ['/api/v1/lots?plain=perhaps', '/api/v1/places?only=no-such-place', `/api/v1/lots?only=${Array(61).fill(codes[0])}`]) {
    assert.ok([400, 404, 413, 422].includes((await at.ask(bad)).status), bad);
  }
});

test('today stands before the gate has answered for all', async () => {
  await open(page, '/');
  assert.ok((await page.locator('ol.lines > li').count()) >= 2);
});

test('lots: forty at first, more on asking, found by a word', async () => {
  asked.length = 0;
  await open(page, '/lots');
  assert.equal(await page.locator('.line').count(), 40);
  const gates = asked.filter((path) => path.includes('only=')).flatMap((path) => decodeURIComponent(path).split('only=')[1].split(','));
  assert.ok(gates.length <= 40, `${gates.length} were asked for`);
  await page.getByRole('button', { name: 'Show 40 more' }).click();
  await shown(page);
  assert.equal(await page.locator('.line').count(), 80);
  await page.getByLabel('Find by name, code or place').fill('snake fern');
  await shown(page);
  const names = await page.locator('.line-link').allInnerTexts();
  assert.ok(names.length > 0 && names.every((name) => /snake fern/i.test(name)), names.join());
});

test('places: a part of the shelves at first, found by a plant', async () => {
  await page.goto('/places');
  await page.locator('.box').first().waitFor();
  assert.equal(await page.locator('.box').count(), 40);
  await page.getByLabel('Find by name, code or plant').fill('bin 7');
  await shown(page);
  assert.match((await page.locator('.box > a').allInnerTexts()).join(), /^bin 7$/i);
});

test('the collection: a part at first; for a use all that may be', async () => {
  await open(page, '/collection');
  assert.equal(await page.locator('main section').count(), 30);
  await page.getByLabel('Quiet enough for').selectOption('plants_only');
  await shown(page);
  const text = await page.locator('main').innerText();
  assert.ok(/quiet enough for[^.]*plants only/.test(text) || text.includes('No plant fits'));
  assert.deepEqual(errors, []);
});
