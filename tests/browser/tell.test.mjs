// Telling at the desk: the first minutes in an empty room, an arrival of eight lots, a round, every kind of
// thing that happens to a lot or a place; with the taps that design section 8 allows counted.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { cookieOf, launch, makeRoom, newContext, open, shown, startServer, VIEWS } from './support.mjs';

let browser;
const rooms = {};

async function roomOf(name) {
  const made = makeRoom({ isEmpty: name === 'empty' });
  const server = await startServer(made.room);
  const cookie = await cookieOf(server);
  const json = async (path) => (await fetch(server.base + path, { headers: { Cookie: cookie }, signal: AbortSignal.timeout(30_000) })).json();
  return { made, server, cookie, json };
}
before(async () => {
  browser = await launch();
  rooms.empty = await roomOf('empty');
  rooms.full = await roomOf('full');
});
after(async () => {
  await browser?.close();
  for (const { server, made } of Object.values(rooms)) {
    await server.stop();
    made.remove();
  }
});

/** A page whose taps are counted: clicks that reach the document. */
async function pageOf(name, path, view = VIEWS.phone) {
  const { server, cookie } = rooms[name];
  const { context, errors } = await newContext(browser, view, server.base, cookie);
  await context.addInitScript(() => {
    if (!location.protocol.startsWith('http')) return; // the blank page before the first
    window.taps = Number(sessionStorage.getItem('taps') ?? 0);
    document.addEventListener('click', (event) => {
      if (event.isTrusted && event.detail > 0) sessionStorage.setItem('taps', String((window.taps += 1)));
    }, true);
  });
  const page = await context.newPage();
  await open(page, path);
  await page.waitForTimeout(300);
  await page.evaluate(() => { window.taps = 0; sessionStorage.setItem('taps', '0'); });
  const taps = () => page.evaluate(() => window.taps);
  const sent = () => page.waitForFunction(() => !document.querySelector('.unsent-mark') && document.querySelector('.recorded-what'));
  return { page, context, errors, taps, sent };
}

test('an empty room: from nothing to tonight’s plan in under two minutes and no manual', async () => {
  const { page, context, errors, taps } = await pageOf('empty', '/');
  const began = Date.now();
  await page.getByRole('link', { name: 'Something came home' }).first().click();
  await page.getByRole('heading', { level: 1, name: 'What did you bring home, and where is it going?' }).waitFor();
  await page.getByRole('combobox', { name: 'Plant 1', exact: true }).fill('Creeping fig');
  await page.getByRole('textbox', { name: 'From' }).or(page.getByRole('combobox', { name: 'From' })).first().fill('Corner shop');
  await page.getByRole('radio', { name: 'Amphibians' }).check();
  await page.getByRole('button', { name: 'Show me tonight' }).click();
  await page.getByRole('heading', { level: 1, name: 'Tonight' }).waitFor();
  await page.getByRole('heading', { level: 2, name: 'Creeping fig' }).waitFor();
  await page.getByText('Most likely on it:', { exact: false }).waitFor();
  assert.ok(await page.locator('.steps li').count() >= 1);
  assert.ok(Date.now() - began < 120_000);
  assert.ok(await taps() <= 6, `${await taps()} taps`);
  const { lots } = await rooms.empty.json('/api/v1/lots');
  assert.deepEqual([lots.length, lots[0].use, lots[0].form, lots[0].plant.botanical_name], [1, 'amphibian', 'potted', 'Ficus pumila']);
  assert.deepEqual(errors, []);
  await context.close();
});

test('an arrival of eight lots takes at most 25 taps, typed or pasted', async () => {
  const eight = ['Nerve plant', 'Creeping fig', 'Moon valley', 'Java fern', 'Guzmania', 'Inch plant', 'Spider fern', 'Cushion moss'];
  const before = (await rooms.full.json('/api/v1/lots')).lots.length;
  const typed = await pageOf('full', '/arrive');
  for (const [k, name] of eight.entries()) {
    if (k > 0) await typed.page.getByRole('button', { name: 'Another plant' }).click();
    await typed.page.getByRole('combobox', { name: `Plant ${k + 1}`, exact: true }).click();
    await typed.page.keyboard.type(name);
  }
  await typed.page.getByLabel('From', { exact: true }).click();
  await typed.page.keyboard.type('Corner garden shop');
  await typed.page.getByRole('radio', { name: 'Amphibians' }).check();
  await typed.page.getByRole('button', { name: 'Show me tonight' }).click();
  await typed.page.getByRole('heading', { level: 1, name: 'Tonight' }).waitFor();
  await typed.sent();
  assert.ok(await typed.taps() <= 25, `${await typed.taps()} taps`);
  assert.deepEqual(typed.errors, []);
  await typed.context.close();
  assert.equal((await rooms.full.json('/api/v1/lots')).lots.length, before + 8);

  const pasted = await pageOf('full', '/arrive');
  await pasted.page.getByText('Or paste a list').first().click();
  await pasted.page.locator('textarea').fill(eight.map((name) => `2 ${name}`).join('\n'));
  await pasted.page.getByRole('button', { name: 'Read the list' }).click();
  await pasted.page.getByRole('combobox', { name: 'Plant 8', exact: true }).waitFor();
  assert.deepEqual(await pasted.page.getByLabel('How many').evaluateAll((fields) => fields.map((field) => field.value)), Array(8).fill('2'));
  await pasted.page.getByLabel('From', { exact: true }).fill('Saturday market');
  await pasted.page.getByRole('button', { name: 'Show me tonight' }).click();
  await pasted.page.getByRole('heading', { level: 1, name: 'Tonight' }).waitFor();
  assert.ok(await pasted.taps() <= 6, `${await pasted.taps()} taps`);
  await pasted.context.close();
});

test('what is wrong is said at its field, and nothing typed is lost', async () => {
  const { page, context } = await pageOf('full', '/arrive', VIEWS.laptop);
  await page.getByRole('combobox', { name: 'Plant 1', exact: true }).fill('Nerve plant');
  await page.getByLabel('How many').fill('two');
  await page.getByRole('button', { name: 'Show me tonight' }).click();
  await page.getByText('2 fields need another word.').waitFor();
  const field = page.getByLabel('How many');
  assert.equal(await field.getAttribute('aria-invalid'), 'true');
  const ids = (await field.getAttribute('aria-describedby')).split(' ');
  assert.match(await page.locator(`#${CSS_escape(ids.at(-1))}`).innerText(), /“two” is not a number/);
  assert.equal(await field.inputValue(), 'two');
  await page.reload();
  await shown(page);
  assert.equal(await page.getByRole('combobox', { name: 'Plant 1', exact: true }).inputValue(), 'Nerve plant');
  await context.close();
});
const CSS_escape = (text) => text.replace(/[^\w-]/g, (sign) => `\\${sign}`);

test('a look at one bin that found nothing is two taps from the list of places', async () => {
  const { page, context, taps, sent } = await pageOf('full', '/places');
  await page.getByRole('link', { name: 'Bin 3' }).click();
  await page.getByRole('button', { name: 'Nothing found' }).click();
  await sent();
  assert.equal(await taps(), 2);
  await context.close();
});

test('a round: hands asked once, a tap for each bin, undone bins open again', async () => {
  const { page, context, taps, sent, errors } = await pageOf('full', '/round');
  const { places } = await rooms.full.json('/api/v1/places');
  const bins = places.filter((place) => ['bin', 'jar'].includes(place.kind) && place.lots.length > 0);
  const began = Date.now();
  await page.getByRole('radio', { name: 'Unsure' }).check();
  for (const bin of bins) {
    await page.getByRole('button', { name: new RegExp(`^Nothing found ?: ${bin.name}$`) }).click();
  }
  await page.getByText('Every bin was looked at.', { exact: false }).waitFor();
  assert.ok(await taps() <= bins.length + 1);
  assert.ok((Date.now() - began) / bins.length < 10_000); // six bins a minute
  await sent();
  for (const bin of bins) {
    const { looks } = await rooms.full.json(`/api/v1/places/${bin.id}`);
    assert.equal(looks[0].hands, 'unsure');
    assert.equal(looks[0].finding_ids?.length ?? 0, 0);
  }
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.getByRole('button', { name: new RegExp(`^Nothing found ?: ${bins.at(-1).name}$`) }).waitFor();
  assert.deepEqual(errors, []);
  await context.close();
});

test('a bin is chosen with its price, and the record goes ahead', async () => {
  const { page, context } = await pageOf('full', '/put', VIEWS.laptop);
  await page.locator('.prices li').first().waitFor();
  const { lots } = await rooms.full.json('/api/v1/lots');
  const homeless = lots.filter((lot) => ['arrived', 'cleaned'].includes(lot.phase));
  const { prices } = await rooms.full.json(`/api/v1/prices?lots=${homeless.map((lot) => lot.code).join(',')}`);
  const text = await page.locator('main').innerText();
  for (const price of prices) assert.ok(text.includes(price.text), price.place.name);
  const target = prices.find((price) => !price.is_held && price.place.name !== 'Bin 2');
  await page.getByRole('button', { name: new RegExp(`here.*: ${target.place.name}`) }).click();
  await page.getByRole('heading', { level: 1, name: target.place.name }).waitFor();
  await page.waitForFunction(() => !document.querySelector('.unsent-mark'));
  const place = await rooms.full.json(`/api/v1/places/${target.place.id}`);
  for (const lot of homeless) assert.ok(place.lots.some((one) => one.id === lot.id), lot.name);
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.getByText('Undone:', { exact: false }).waitFor();
  await context.close();
});

/** Opens a form, fills it, records; gives what the room says afterwards of the lot or place. */
async function tell(path, fill, { name = 'Record' } = {}) {
  const { page, context, errors, sent } = await pageOf('full', path, VIEWS.laptop);
  const form = page.locator('main form').first();
  await form.waitFor();
  await fill?.(page);
  await form.getByRole('button', { name, exact: true }).click();
  await sent();
  assert.deepEqual(errors, []);
  await context.close();
}
const lotBy = async (test) => (await rooms.full.json('/api/v1/lots')).lots.find(test);

test('a lot is moved, cut, split, lost, treated, and released with the gate’s answer frozen', async () => {
  const { code, id } = await lotBy((lot) => lot.phase === 'quarantine' && lot.count > 1 && lot.place?.name !== 'Bin 3');
  const lot = async () => rooms.full.json(`/api/v1/lots/${id}`);
  const had = await lot();
  await tell(`/lots/${code}/do/split`);
  assert.equal((await lot()).count, had.count - 1);
  await tell(`/lots/${code}/do/cut`, (page) => page.getByLabel('How many').fill('3'));
  const child = (await lot()).offspring.map((one) => one.code);
  assert.ok(child.length >= 2);
  await tell(`/lots/${code}/do/step`, async (page) => {
    await page.getByLabel('Step').selectOption('soak');
    await page.getByLabel('How long (min)').fill('2,5'); // a decimal comma
  });
  assert.equal((await lot()).steps.at(-1).minutes ?? 2.5, 2.5);
  await tell(`/lots/${code}/do/move`, (page) => page.getByLabel('To').selectOption({ label: 'Bin 3' }));
  assert.equal((await lot()).place.name, 'Bin 3');
  await tell(`/lots/${code}/do/release`, async (page) => {
    await page.getByLabel('Into').selectOption({ label: 'Frog tank' });
    await page.locator('main .held, main .note').first().waitFor();
  }, { name: 'Release all the same' });
  const { release } = await lot();
  assert.equal(release.is_against_gate, true);
  assert.ok(release.answer_then.conditions.length === 8 && release.answer_then.is_open === false);
  const other = await lotBy((one) => one.phase === 'established' && one.count > 0);
  await tell(`/lots/${other.code}/do/lose`, async (page) => {
    await page.getByLabel('How many').fill(String(other.count));
    await page.getByLabel('Why').fill('rotted');
  });
  assert.equal(await lotBy((one) => one.id === other.id && one.phase !== 'gone'), undefined);
});

test('a place is cleaned, gets a card, a hold, loses it, is changed; a pest is lived with', async () => {
  const { places } = await rooms.full.json('/api/v1/places');
  const bin = places.find((place) => place.name === 'Bin 3');
  const place = async () => rooms.full.json(`/api/v1/places/${bin.id}`);
  await tell(`/places/${bin.code}/do/card`, (page) => page.getByRole('radio', { name: /blue/ }).check());
  assert.ok((await place()).cards.some((card) => card.device === 'blue_card'));
  await tell(`/places/${bin.code}/do/hold`, (page) => page.getByLabel('Why').fill('a speck that moved'));
  assert.equal((await place()).holds.filter((hold) => hold.is_now).length, 1);
  await tell(`/places/${bin.code}/do/lift`);
  assert.equal((await place()).is_held, false);
  await tell(`/places/${bin.code}/do/change`, (page) => page.getByLabel('Usual temperature (°C)').fill('19,5'));
  assert.equal((await place()).set_temp_c, 19.5);
  await tell(`/places/${bin.code}/do/tolerate`);
  await tell(`/places/${bin.code}/do/clean`);
  const { events } = await rooms.full.json(`/api/v1/history?place=${bin.code}`);
  for (const kind of ['place_cleaned', 'tolerated_set', 'place_set', 'hold_set', 'card_set']) {
    assert.ok(events.some((event) => event.kind === kind), kind);
  }
});

test('new places, sources, plants and bottles', async () => {
  await tell('/new/place', async (page) => {
    await page.getByLabel('Name').fill('Bin 9');
    await page.getByLabel('Shelf').fill('2');
  });
  await tell('/new/source', (page) => page.getByLabel('Name').fill('Fern friend'));
  await tell('/new/plant', async (page) => {
    await page.getByLabel('What you call it').fill('Crinkle fern');
    await page.getByLabel('Kept for cuttings').check();
    await page.getByLabel('It does well where it stands', { exact: false }).check();
  });
  await tell('/new/bottle', async (page) => {
    await page.getByLabel('Name').fill('laundry bleach');
    await page.getByLabel('As the label says (%)').fill('4,5');
  });
  const names = await rooms.full.json('/api/v1/names');
  const { places } = await rooms.full.json('/api/v1/places');
  assert.equal(places.find((place) => place.name === 'Bin 9').shelf, 2);
  assert.ok(names.sources.some(({ name }) => name === 'Fern friend'));
  const fern = names.plants.find(({ name }) => name === 'Crinkle fern');
  assert.deepEqual([fern.is_mother, fern.is_thriving], [true, true]);
  assert.equal(names.bottles.find(({ name }) => name === 'laundry bleach').label_pct, 4.5);
});

test('the history undoes and does again', async () => {
  const { page, context, sent } = await pageOf('full', '/history', VIEWS.laptop);
  const first = page.locator('.record li:not(.is-undone)').first();
  const id = (await rooms.full.json('/api/v1/history?limit=500')).events.find((event) => !event.is_voided).id;
  const n = await page.locator('.record li.is-undone').count();
  const text = await first.locator('b').innerText();
  await first.getByRole('button', { name: 'Undo' }).click();
  await page.waitForFunction((was) => document.querySelectorAll('.record li.is-undone').length === was + 1, n);
  await sent();
  const entry = async () => (await rooms.full.json('/api/v1/history?limit=500')).events.find((event) => event.id === id);
  assert.equal((await entry()).is_voided, true);
  assert.equal((await entry()).text.toLowerCase(), text.toLowerCase());
  await page.locator('.record li.is-undone', { hasText: text }).first().getByRole('button', { name: 'Record it again' }).click();
  await page.waitForFunction((was) => document.querySelectorAll('.record li.is-undone').length === was, n);
  assert.equal((await entry()).is_voided, false);
  await context.close();
});
