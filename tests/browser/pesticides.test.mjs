// The record of pesticides in the browser: a treatment is written down, stands in the record with what is
// missing under each rule, can be had as CSV, and can be taken back.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { api, fits, validator } from './described.mjs';
import { cookieOf, launch, makeRoom, newContext, open, startServer, VIEWS } from './support.mjs';

let browser, made, server, cookie;
before(async () => {
  made = makeRoom({});
  server = await startServer(made.room);
  cookie = await cookieOf(server);
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await server?.stop();
  made?.remove();
});

const ask = (path) => fetch(server.base + path, { headers: { Cookie: cookie }, signal: AbortSignal.timeout(30_000) });

test('a treatment is written down, is named with what it lacks, and is taken back', async () => {
  assert.ok(api.paths['/api/v1/pesticides.csv']);
  const { context, errors } = await newContext(browser, VIEWS.phone, server.base, cookie);
  const page = await context.newPage();
  await open(page, '/pesticides');
  await page.getByText('No pesticide is on record in these days.').waitFor();
  await open(page, '/pesticides/tell');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.getByText('Choose the lots it was done to.').waitFor();
  await page.getByText('Give the active; the label names it.').waitFor();
  await page.locator('fieldset input[type=checkbox]').first().check();
  await page.getByLabel('Active').fill('spinosad');
  await page.getByLabel('Name on the label').fill('Example SC');
  await page.getByLabel('Authorisation or registration number').fill('012345-00');
  await page.getByLabel('Product in all, before water').fill('1,5');
  await page.getByLabel('Unit of the dose').selectOption({ label: 'g/m²' });
  await page.getByLabel('Dose (g/m²)').fill('0.2');
  await page.getByLabel('Area treated').fill('2.4');
  await page.getByLabel('Where, as an authority').fill('greenhouse 1, bench 2');
  await page.getByLabel('Applied or supervised by').fill('M. Keeper');
  await page.getByRole('button', { name: 'Write it down' }).click();
  const entry = page.locator('.lines .line').filter({ hasText: 'Example SC' });
  await entry.waitFor();
  const said = await entry.innerText();
  for (const part of ['012345-00', 'spinosad', '0.2 g/m²', '1.5 mL', '2.4 m²', 'greenhouse 1, bench 2', 'M. Keeper']) assert.ok(said.includes(part), `${part} in ${said}`);
  assert.match(said, /Not told, and asked by EU 2023\/564\s+the crop's EPPO code/);
  assert.match(said, /Every field that we know 7 CFR 110\.3 to ask/);

  const answer = await (await ask('/api/v1/pesticides')).json();
  fits(validator('components', 'schemas', 'Pesticides'), answer, '/api/v1/pesticides');
  assert.equal(answer.entries.length, 1);
  assert.deepEqual(answer.entries[0].missing.map((one) => one.fields), [['eppo_code'], []]);
  assert.equal(answer.entries[0].rate_g_per_m2, 0.2);
  const csv = await ask('/api/v1/pesticides.csv');
  assert.match(csv.headers.get('content-type'), /^text\/csv/);
  const [names, row] = (await csv.text()).split('\r\n');
  assert.equal(row.split(',')[names.split(',').indexOf('brand')], 'Example SC');
  assert.equal((await ask('/api/v1/pesticides?from=2026-13-01')).status, 422);
  assert.equal((await ask('/api/v1/print/pesticides?to=2020-01-01')).headers.get('content-type'), 'application/pdf');

  await open(page, '/pesticides/tell'); // who and where are as the last time
  assert.equal(await page.getByLabel('Applied or supervised by').inputValue(), 'M. Keeper');
  await open(page, '/pesticides');
  await page.getByRole('button', { name: /take it back/ }).click();
  await page.getByText('No pesticide is on record in these days.').waitFor();
  assert.deepEqual(errors, []);
  await context.close();
});
