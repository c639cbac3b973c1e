// A tray on its screen: potted on, some died, some given, each in few taps (design section 8) and with one undo;
// the account and who got which, both ways, held to the description.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { fitting } from './described.mjs';
import { newContext, open, run, stage, VIEWS } from './support.mjs';

let server;
let cookie;
let browser;
let tray;
const daysAgo = (n) => new Date(Date.now() - n * 86_400_000).toISOString().slice(0, 10);

stage((at) => ({ server, cookie, browser } = at), {
  isEmpty: true,
  browser: true,
  prepare: (room) => {
    run(room, 'source', 'add', 'Thistlemere Nursery', '--kind', 'nursery');
    run(room, 'place', 'add', 'bin 1', '--kind', 'bin', '--gasket');
    run(room, 'place', 'add', 'bin 2', '--kind', 'bin', '--gasket');
    // trimmed seven weeks ago: what runs is asked for after six, on a round day of that week
    run(room, 'place', 'add', 'Brook', '--kind', 'enclosure', '--uses', 'plants_only', '--at', daysAgo(90));
    run(room, 'already-here', 'Brook', '2x Ficus pumila', '--at', daysAgo(90));
    run(room, 'trim', 'Brook', '--at', daysAgo(49));
    run(room, 'arrive', '--source', 'Thistlemere Nursery', '--place', 'bin 1', '72x Ficus pumila:plug:plants_only');
  },
});

const json = async (path) => (await fetch(server.base + path, { headers: { Cookie: cookie }, signal: AbortSignal.timeout(30_000) })).json();

test('a tray of 72: potted on, died, given, undone; the account stands on the page after each', async () => {
  const { lots } = await json('/api/v1/lots');
  tray = lots.find((lot) => lot.count === 72).code;
  const { context, errors } = await newContext(browser, VIEWS.phone, server.base, cookie);
  const page = await context.newPage();
  await open(page, `/lots/${tray}/batch`);
  await page.getByText('72 came: 72 are here.').waitFor();

  // four taps (what, how many, where, record) and what is typed
  await page.getByRole('radio', { name: 'Potted on' }).check();
  await page.getByRole('button', { name: '24', exact: true }).click();
  await page.getByRole('combobox', { name: /What they stand in now/ }).fill('9 cm pots');
  await page.getByRole('combobox', { name: 'Where they stand now' }).selectOption({ label: 'bin 2' });
  await page.getByRole('button', { name: 'Potted on', exact: true }).click();
  await page.getByText('24 in bin 2, in 9 cm pots').waitFor();
  await page.getByText('48 in bin 1, as it came').waitFor();
  await page.getByText('72 came: 72 are here.').waitFor();

  await page.getByRole('radio', { name: 'Died' }).check();
  await page.getByRole('button', { name: '6', exact: true }).click();
  await page.getByRole('combobox', { name: /Why/ }).fill('damped off');
  await page.getByRole('button', { name: 'Record', exact: true }).click();
  await page.getByText('72 came: 66 are here, 6 died.').waitFor();
  await page.getByText(/6 of Ficus pumila .* damped off/).waitFor();
  await page.getByRole('button', { name: /^Undo/ }).click();
  await page.getByText('72 came: 72 are here.').waitFor();

  await page.getByRole('radio', { name: 'Given or sold' }).check();
  await page.getByText('Not yet', { exact: false }).first().waitFor();
  await page.getByRole('button', { name: '12', exact: true }).click();
  await page.getByRole('combobox', { name: /Who gets them/ }).fill('Plant club');
  await page.getByRole('button', { name: 'Given all the same' }).click();
  await page.getByText('72 came: 60 are here, 12 left.').waitFor();
  await page.getByRole('link', { name: /^12 Ficus pumila .* to Plant club/ }).waitFor();

  await open(page, '/batches');
  await page.getByRole('heading', { level: 3, name: 'Plant club' }).waitFor();
  await page.getByRole('link', { name: /^12 Ficus pumila .* to Plant club/ }).click();
  await page.getByText('72 came: 60 are here, 12 left.').waitFor();
  assert.deepEqual(errors, []);
  await context.close();
});

test('what has grown is cut back by one tap, with the waste bagged', async () => {
  const { places } = await json('/api/v1/places?plain=true');
  const brook = places.find((place) => place.name === 'Brook').code;
  const before = await json(`/api/v1/places/${brook}`);
  fitting('Place', before);
  assert.deepEqual(before.trims.map((trim) => [trim.is_due, trim.every_days, trim.is_own_pace]), [[true, 42, false]]);
  const { context, errors } = await newContext(browser, VIEWS.phone, server.base, cookie);
  const page = await context.newPage();
  await open(page, `/places/${brook}`);
  await page.getByRole('button', { name: 'Trimmed, waste bagged' }).click();
  await page.getByText(/next, about/).waitFor();
  assert.equal((await json(`/api/v1/places/${brook}`)).trims[0].is_due, false);
  assert.deepEqual(errors, []);
  await context.close();
});

test('the account and who got which are as described', async () => {
  const batch = await json(`/api/v1/lots/${tray}/batch`);
  fitting('Batch', batch);
  assert.deepEqual([batch.came, batch.here, batch.died, batch.left, batch.told_over], [72, 60, 0, 12, 0]);
  assert.equal(batch.leavings[0].is_against_gate, true);
  const all = await json('/api/v1/batches');
  fitting('Batches', all);
  assert.deepEqual([all.batches.length, all.takers.length, all.takers[0].place.name, all.takers[0].count], [2, 1, 'Plant club', 12]);
  assert.equal(all.takers[0].leavings[0].batch.code, tray);
  // an answer of a part is that of its batch
  assert.deepEqual(await json(`/api/v1/lots/${all.takers[0].leavings[0].lot.code}/batch`), batch);
  // what was said on the day is kept with it
  const history = await json(`/api/v1/history?lot=${all.takers[0].leavings[0].lot.code}`);
  assert.ok(history.events.some((event) => event.kind === 'lot_released'), JSON.stringify(history).slice(0, 300));
});
