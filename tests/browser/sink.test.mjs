// At the sink in a real browser: one action at a time, what a tap records, timers by the server, "all as
// planned" in one tap. Sizes and roles: web-ui.md sections 5 and 7 (72 px, role=timer, 400 ms).
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { VIEWS, newContext, open, stage } from './support.mjs';

let server;
let browser;
let cookie;
let json;

stage((at) => ({ server, cookie, browser, json } = at), { browser: true, flags: ['--autoplay-policy=user-gesture-required'] });

test('a step is started, stands by the server’s clock, and is done: once each, on one large button', async () => {
  const { context, errors } = await newContext(browser, { ...VIEWS.phone, timezoneId: 'UTC' }, server.base, cookie);
  const page = await context.newPage();
  const posts = [];
  page.on('request', (request) => {
    if (request.method() === 'POST' && request.url().endsWith('/api/v1/events')) posts.push(request.postDataJSON());
  });
  await open(page, '/sink');
  const main = page.locator('.sink-now button.main-act');
  assert.equal(await main.count(), 1);
  const box = await main.boundingBox();
  assert.ok(box.height >= 72, `${box.height}`);
  assert.ok(await page.getByText('This device has no sound yet').isVisible());
  await main.dblclick(); // a trembling finger
  await page.waitForFunction(() => document.querySelector('.sink-now button:nth-of-type(2)'));
  let list;
  for (let k = 0; k < 50 && !(list?.timers.length === 1); k += 1) {
    list = await json('/api/v1/timers');
    await page.waitForTimeout(100);
  }
  assert.equal(list.timers.length, 1);
  const starts = posts.filter((event) => event.kind === 'step_started');
  assert.equal(new Set(starts.map((event) => event.body.run)).size, 1);
  assert.equal(list.timers[0].run_id, starts[0].body.run);
  assert.equal(list.timers[0].planned_s, starts[0].body.planned_s);
  await page.locator('[role=timer]').first().waitFor();
  assert.equal(await page.locator('[role=timer]').first().getAttribute('aria-live'), 'off');
  assert.ok(await page.getByText('This device sounds while its screen is on.').isVisible());
  await page.reload(); // the tab was ended: the timer is the server's
  await page.locator('[role=timer]').first().waitFor();
  await page.locator('.sink-now button.main-act').click();
  for (let k = 0; k < 50 && list.timers.length === 1; k += 1) {
    list = await json('/api/v1/timers');
    await page.waitForTimeout(100);
  }
  assert.deepEqual(list.timers, []);
  const ends = posts.filter((event) => event.kind === 'step_done');
  assert.equal(ends.at(-1).body.run, starts[0].body.run);
  assert.deepEqual(ends.at(-1).body.steps[0].lots, starts[0].body.step.lots);
  const evening = await json('/api/v1/evening');
  const lot = evening.lots.find((one) => one.lot.id === starts[0].body.step.lots[0]);
  assert.equal(lot.steps[0].state, 'done');
  assert.equal(Date.parse(lot.steps[0].started_at), Math.floor(Date.parse(starts[0].occurred_at) / 1000) * 1000);
  assert.deepEqual(errors, []);
  await context.close();
});

test('all the rest as planned is one tap and one request, undone in one tap and one request', async () => {
  const { context, errors } = await newContext(browser, { ...VIEWS.laptop, timezoneId: 'UTC' }, server.base, cookie);
  const page = await context.newPage();
  const posts = [];
  page.on('request', (request) => {
    if (request.method() === 'POST' && request.url().includes('/api/v1/events')) posts.push(request);
  });
  const until = async (isSo) => {
    let evening;
    for (let k = 0; k < 100 && !(evening && isSo(evening)); k += 1) {
      evening = await json('/api/v1/evening');
      await page.waitForTimeout(200);
    }
    assert.ok(isSo(evening), JSON.stringify(evening.items.slice(0, 2)));
    return evening;
  };
  await open(page, '/sink');
  const before = await json('/api/v1/evening');
  assert.ok(before.as_planned.length > 3);
  await page.getByRole('button', { name: 'All the rest is done as planned' }).click();
  const evening = await until(({ items }) => items.length === 0);
  assert.equal(evening.is_closed_up, true);
  const { lots } = await json('/api/v1/lots');
  assert.ok(lots.filter((lot) => evening.lots.some((one) => one.lot.id === lot.id)).every((lot) => lot.phase !== 'arrived'));
  assert.deepEqual(posts.map((one) => new URL(one.url()).pathname), ['/api/v1/events/batch']);
  const told = posts[0].postDataJSON().events;
  assert.deepEqual(told.map(({ kind }) => kind), before.as_planned.map(({ kind }) => kind));
  await page.getByRole('button', { name: 'Undo' }).click();
  const after = await until(({ items }) => items.length === before.items.length);
  assert.deepEqual(after.items.map((item) => item.text), before.items.map((item) => item.text));
  assert.equal(posts.length, 2);
  assert.deepEqual(posts[1].postDataJSON().events.map((event) => event.body.event), told.map((event) => event.id).reverse());
  assert.deepEqual(errors, []);
  await context.close();
});
