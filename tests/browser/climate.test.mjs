// A keeper tells a lamp, takes in a logger's file that leaves a question, sees the charts and undoes it; with
// readings in it the page keeps its rules: axe, 320 px, a silent console.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { VIEWS, axe, newContext, open, shown, stage } from './support.mjs';

let server;
let browser;
let cookie;
let bin;

stage(async (at) => {
  ({ server, cookie, browser } = at);
  const { places } = await at.json('/api/v1/places');
  bin = places.find((place) => place.name === 'Bin 2').code;
}, { browser: true });

/** Ten hours of a day that could be a month. */
function log() {
  const start = new Date(Date.UTC(new Date().getUTCFullYear() - 1, 0, 5)); // 5 January or 1 May, both past
  const rows = ['Date;Time;Temperature;Humidity'];
  const two = (n) => String(n).padStart(2, '0');
  for (let k = 0; k < 20; k += 1) {
    const at = new Date(start.getTime() + k * 1_800_000);
    rows.push(`${two(at.getUTCMonth() + 1)}/${two(at.getUTCDate())}/${at.getUTCFullYear()};${two(at.getUTCHours())}:${two(at.getUTCMinutes())};2${k % 4},5;7${k % 9},0`);
  }
  return rows.join('\r\n');
}

test('a lamp is told, a file is asked about, taken in, charted and undone', async () => {
  const { context, errors } = await newContext(browser, VIEWS.laptop, server.base, cookie);
  const page = await context.newPage();
  await open(page, `/climate/${bin}`);
  await page.getByText('What is told of its light').click();
  await page.getByLabel('Lit a day').fill('10,5');
  await page.getByLabel('Lumens of a strip').fill('4000');
  await page.getByRole('button', { name: 'Record' }).click();
  await page.getByText('for 10.5 hours', { exact: false }).waitFor();
  await page.getByRole('link', { name: 'Take in a logger’s file' }).click();
  await page.locator('#file').setInputFiles({ name: 'log.csv', mimeType: 'text/csv', buffer: Buffer.from(log()) });
  await page.getByText('The file leaves this open').waitFor();
  assert.equal(await page.getByRole('button', { name: /^Take in/ }).count(), 0);
  await page.getByRole('radio', { name: /^month, day, year: .* January/ }).check();
  await page.getByRole('button', { name: 'Take in 20 readings' }).click();
  await page.getByText('Taken in: 20 readings, in one batch.').waitFor();
  await open(page, `/climate/${bin}?days=0`);
  await page.getByRole('heading', { name: 'Temperature', exact: true }).waitFor();
  assert.match(await page.locator('figure figcaption').first().innerText(), /Temperature from 20\.5 to 23\.5 °C/);
  const slider = page.locator('input[type=range]').first();
  await slider.focus();
  const before = await slider.getAttribute('aria-valuetext');
  await page.keyboard.press('ArrowLeft');
  assert.notEqual(await slider.getAttribute('aria-valuetext'), before);
  await page.locator('details summary').first().click();
  assert.deepEqual((await axe(page)).violations, []);
  await page.goto(`/climate/${bin}/file`);
  await shown(page);
  await page.locator('#file').setInputFiles({ name: 'log.csv', mimeType: 'text/csv', buffer: Buffer.from(log()) });
  await page.getByRole('radio', { name: /^month, day, year: .* January/ }).check();
  await page.getByText('There is nothing new in it.').waitFor();
  assert.deepEqual(errors, []);
  await context.close();
});

test('with readings and a lamp, the pages fit 320 px and four manners', async () => {
  for (const view of Object.values(VIEWS)) {
    const { context, errors } = await newContext(browser, view, server.base, cookie);
    const page = await context.newPage();
    for (const path of ['/climate', `/climate/${bin}?days=0`]) {
      await open(page, path);
      await page.waitForFunction(() => document.querySelectorAll('main svg').length > 0);
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${path} is too wide`);
      assert.deepEqual((await axe(page)).violations, [], path);
    }
    assert.deepEqual(errors, []);
    await context.close();
  }
});
