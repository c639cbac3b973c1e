// A customer's complaint in the browser: told, answered with a range, who else has of the same plants, taken back.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { fits, validator } from './described.mjs';
import { cookieOf, launch, makeRoom, newContext, open, run, startServer, VIEWS } from './support.mjs';

let browser, made, server, cookie;
before(async () => {
  made = makeRoom({});
  const { lots } = JSON.parse(run(made.room, 'show', 'lots', '--json'));
  const lot = lots.find((one) => one.count >= 2);
  run(made.room, 'give', lot.code, '--count', '1', '--to', 'Class 4b', '--anyway');
  run(made.room, 'give', lot.code, '--count', '1', '--to', 'Aunt Ida', '--anyway');
  server = await startServer(made.room);
  cookie = await cookieOf(server);
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await server?.stop();
  made?.remove();
});

test('a complaint is told, answered and taken back', async () => {
  const { context, errors } = await newContext(browser, VIEWS.phone, server.base, cookie);
  const page = await context.newPage();
  await open(page, '/complaints');
  await page.getByText('Nobody has noticed anything so far.').waitFor();
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.getByText('Choose the plants.').waitFor();
  const plants = page.getByLabel('On which plants');
  const value = await plants.locator('optgroup[label="Class 4b"] option').first().getAttribute('value');
  await plants.selectOption(value);
  await page.getByLabel('What it is').selectOption({ label: 'western flower thrips' });
  const { leavings } = (await (await fetch(`${server.base}/api/v1/batches`, { headers: { Cookie: cookie }, signal: AbortSignal.timeout(30_000) })).json())
    .takers.find((one) => one.place.name === 'Class 4b');
  await page.getByLabel('Noticed on').fill('2020-01-01');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.getByText(/They left on/).waitFor();
  await page.getByLabel('Noticed on').fill(leavings[0].on);
  await page.getByLabel('In their words').fill('silver streaks');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.getByRole('heading', { name: 'Did it come along?' }).waitFor();
  await page.getByText(/That it came along: /).first().waitFor();
  await page.getByText('Aunt Ida', { exact: true }).waitFor();
  await page.getByText('silver streaks').waitFor();
  const id = new URL(page.url()).pathname.split('/').pop();
  const answer = await (await fetch(`${server.base}/api/v1/complaints/${id}`, { headers: { Cookie: cookie }, signal: AbortSignal.timeout(30_000) })).json();
  fits(validator('components', 'schemas', 'Complaint'), answer, '/api/v1/complaints/{id}');
  assert.equal(answer.customer, 'Class 4b');
  assert.ok(answer.prob_came_along > 0.99); // a date is noon: hours after it left, or that moment; next to nothing began there
  assert.equal(answer.there.is_hazard_told, false);
  const paper = await fetch(`${server.base}/api/v1/print/complaint?of=${answer.said.code}`, { headers: { Cookie: cookie }, signal: AbortSignal.timeout(30_000) });
  assert.equal(paper.headers.get('content-type'), 'application/pdf');
  await page.getByRole('button', { name: 'It was wrong: take it back' }).click();
  await page.getByText('Nobody has noticed anything so far.').waitFor();
  assert.deepEqual(errors, []);
  await context.close();
});
