// Builds and moving in, told in the browser as a person would.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { VIEWS, newContext, open, shown, stage } from './support.mjs';

let server;
let cookie;
let browser;
let json;

stage((at) => ({ server, cookie, browser, json } = at), { browser: true });

test('a build is planned, seen, and done', async () => {
  const { context, errors } = await newContext(browser, VIEWS.phone, server.base, cookie);
  const page = await context.newPage();
  await open(page, '/builds/plan');
  await page.getByRole('button', { name: 'Work it out' }).click();
  await page.getByText('Give it a name.').waitFor();
  await page.getByLabel('What you call it').fill('the hall tank');
  const day = new Date(Date.now() + 200 * 86_400_000).toISOString().slice(0, 10);
  await page.getByLabel('Needed by').fill(day);
  await page.getByLabel('Plants', { exact: true }).fill('2 Nerve plant\nmoss');
  await page.getByLabel(/^Materials/).fill('ten litres');
  await page.getByRole('button', { name: 'Work it out' }).click();
  await page.waitForURL('**/builds');
  await page.getByRole('heading', { name: 'the hall tank' }).waitFor();
  await shown(page);
  const { builds } = await json('/api/v1/builds');
  assert.equal(builds.length, 1);
  assert.equal(builds[0].need_by_on, day);
  assert.equal(builds[0].lines.reduce((n, line) => n + line.count, 0), 3);
  assert.deepEqual(builds[0].materials.map(({ name, volume_l }) => [name, volume_l]), [['ten litres', 1]]);
  // every date opens to its reason: the ways that were asked, with how long each would take
  await page.getByText('Open the reasons').click();
  const ways = builds[0].lines.flatMap((line) => line.ways.map((way) => way.text));
  assert.ok(ways.length > 0);
  for (const text of new Set(ways)) await page.getByText(text, { exact: true }).first().waitFor();
  await page.getByRole('link', { name: 'Change its plan' }).click();
  await page.getByLabel('What you call it').waitFor();
  assert.equal(await page.getByLabel('What you call it').inputValue(), 'the hall tank');
  assert.match(await page.getByLabel('Plants', { exact: true }).inputValue(), /2 Nerve plant/);
  await page.goBack();
  await page.getByRole('button', { name: 'It is built' }).click();
  await page.getByText('No build is planned.').waitFor();
  assert.deepEqual(errors, []);
  await context.close();
});

test('a list moves in, is recorded, and is taken back', async () => {
  const { context, errors } = await newContext(browser, VIEWS.laptop, server.base, cookie);
  const page = await context.newPage();
  const before = (await json('/api/v1/lots')).lots.length;
  await open(page, '/moving-in');
  await page.getByLabel('Your list').fill('Attic (two geckos): 3 Ficus pumila, moss');
  await page.getByRole('button', { name: 'See how it is understood' }).click();
  await page.getByRole('heading', { name: /Attic/ }).waitFor();
  assert.equal((await json('/api/v1/lots')).lots.length, before);
  await page.getByRole('button', { name: 'Record it' }).click();
  await page.getByText('Recorded.').waitFor();
  assert.equal((await json('/api/v1/lots')).lots.length, before + 2);
  await page.getByRole('button', { name: 'Take it back' }).click();
  for (let k = 0; k < 100 && (await json('/api/v1/lots')).lots.length !== before; k++) await page.waitForTimeout(100);
  assert.equal((await json('/api/v1/lots')).lots.length, before);
  assert.deepEqual(errors, []);
  await context.close();
});

test('the collection is found by word and by use', async () => {
  const { context } = await newContext(browser, VIEWS.narrow, server.base, cookie);
  const page = await context.newPage();
  await open(page, '/collection');
  const kinds = await page.locator('main h2').count();
  assert.ok(kinds > 1);
  await page.getByLabel('Find by any word').fill('zzz');
  await page.getByText('No plant fits.').waitFor();
  // every word must fit somewhere: a name, a place, a code, what it is
  const { plants } = await json('/api/v1/collection');
  const lot = plants.flatMap((plant) => plant.lots)[0];
  await page.getByLabel('Find by any word').fill(`${lot.lot.code.toLowerCase()} ${lot.place.name.split(' ')[0]}`);
  await page.waitForFunction(() => document.querySelectorAll('main h2').length === 1);
  await page.getByLabel('Find by any word').fill('');
  await page.waitForFunction((n) => document.querySelectorAll('main h2').length === n, kinds);
  assert.equal(await page.locator('main h2').count(), kinds);
  await context.close();
});
