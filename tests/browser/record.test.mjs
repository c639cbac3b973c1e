// The queue of events in a real browser: kept first, sent in order, never twice, never lost. What must hold:
// docs/guide/browser.md. Ids are held against RFC 9562 (version 4), times against RFC 3339.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { VIEWS, newContext, open, stage } from './support.mjs';

let made;
let server;
let browser;
let cookie;
let json;

stage((at) => ({ made, server, cookie, browser, json } = at), { browser: true });

const binLooks = async () => {
  const { places } = await json('/api/v1/places');
  const bin = places.find((place) => place.name === 'Bin 3');
  return { bin, looks: (await json(`/api/v1/places/${bin.id}`)).looks };
};

/** A page at Bin 3, from which looks are told. */
async function teller(view = VIEWS.phone, timezoneId = 'UTC') {
  const { context, errors } = await newContext(browser, { ...view, timezoneId }, server.base, cookie);
  const page = await context.newPage();
  const posts = [];
  page.on('request', (request) => {
    if (request.method() === 'POST' && request.url().endsWith('/api/v1/events')) posts.push(request.postDataJSON());
  });
  const { bin, looks } = await binLooks();
  await open(page, `/places/${bin.code}`);
  const tell = async (effort = 'A glance') => {
    await page.getByRole('radio', { name: effort }).check();
    await page.getByRole('button', { name: 'Nothing found' }).click();
  };
  return { context, page, posts, errors, tell, nLooks: looks.length };
}
const allSent = (page) => page.waitForFunction(() => !document.querySelector('.unsent-mark'));
const nLooksNow = async () => (await binLooks()).looks.length;
/** So many looks are recorded, and nothing waits to be sent: a tap is kept before it shows, so it is awaited. */
async function looksAre(page, expected) {
  for (let k = 0; k < 100 && (await nLooksNow()) !== expected; k += 1) await page.waitForTimeout(50);
  await allSent(page);
  assert.equal(await nLooksNow(), expected);
}
const unsent = (page) => page.locator('.unsent-mark');

test('an event is made, kept, sent and can be undone and done again', async () => {
  const { context, page, posts, errors, tell, nLooks } = await teller(VIEWS.laptop, 'Asia/Kolkata');
  await tell('Careful');
  await page.getByText('Bin 3 looked at, nothing found.').waitFor();
  await looksAre(page, nLooks + 1);
  const [sent] = posts;
  assert.match(sent.id, /^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/); // RFC 9562, 5.4
  assert.match(sent.occurred_at, /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+05:30$/); // RFC 3339; Kolkata is +05:30
  assert.ok(Math.abs(Date.parse(sent.occurred_at) - Date.now()) < 60_000);
  assert.ok(sent.device.length > 0 && sent.seq >= 1);
  assert.equal(sent.body.effort, 'careful');
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.getByText('Undone: Bin 3 looked at, nothing found.').waitFor();
  await looksAre(page, nLooks);
  await page.getByRole('button', { name: 'Record it again' }).click();
  await page.getByRole('button', { name: 'Undo' }).waitFor();
  await looksAre(page, nLooks + 1);
  assert.deepEqual(errors, []);
  await context.close();
});

test('a second tap right after the first does nothing', async () => {
  const { context, page, nLooks } = await teller();
  const button = page.getByRole('button', { name: 'Nothing found' });
  await button.evaluate((element) => { element.click(); element.click(); });
  await page.getByText('Bin 3 looked at', { exact: false }).waitFor();
  await looksAre(page, nLooks + 1);
  await context.close();
});

test('without a network nothing is lost, and with it each is recorded once and in order', async () => {
  const { context, page, posts, tell, nLooks } = await teller();
  await context.setOffline(true);
  for (const effort of ['A glance', 'Careful', 'Roots']) await tell(effort);
  await page.getByText('3 records are not yet sent.', { exact: false }).waitFor();
  posts.length = 0;
  await context.setOffline(false);
  await page.reload(); // a reload in between: the queue is on the disk
  await page.locator('main h1').waitFor();
  await looksAre(page, nLooks + 3);
  const order = [...new Map(posts.map((post) => [post.id, post.body.effort])).values()];
  assert.deepEqual(order, ['glance', 'careful', 'roots']);
  await context.close();
});

test('an answer that is lost on the way does not record twice', async () => {
  const { context, page, posts, tell, nLooks } = await teller();
  let lost = 0;
  await page.route('**/api/v1/events', async (route) => {
    if (lost < 1) {
      lost += 1;
      await route.fetch(); // the server has it
      await route.abort(); // the page never learns
      return;
    }
    await route.continue();
  });
  await tell();
  await unsent(page).waitFor();
  await allSent(page);
  assert.ok(posts.length >= 2);
  assert.equal(new Set(posts.map((post) => post.id)).size, 1);
  await looksAre(page, nLooks + 1);
  await context.close();
});

test('what the server refuses waits for the reader with its reason, and does not block the rest', async () => {
  const { context, page, tell, nLooks } = await teller();
  let n = 0;
  await page.route('**/api/v1/events', async (route) => {
    const event = route.request().postDataJSON();
    n += 1; // the first names a place that is not there: the real server's own refusal
    if (n === 1) event.body.place = '00000000-0000-4000-8000-00000000000f';
    await route.continue({ postData: JSON.stringify(event) });
  });
  await tell();
  await tell('Careful');
  await page.getByText('1 record needs attention.').waitFor();
  await looksAre(page, nLooks + 1);
  await page.getByRole('link', { name: 'Look at it' }).click();
  await page.getByRole('heading', { level: 1, name: 'Not yet sent' }).waitFor();
  assert.match(await page.locator('.found').innerText(), /The server said: .*00000000-0000-4000-8000-00000000000f/);
  await page.getByRole('button', { name: 'Let it go' }).click();
  await page.getByRole('button', { name: 'Keep it after all' }).click();
  await page.getByText('1 record needs attention.').waitFor();
  await page.getByRole('button', { name: 'Send again' }).click(); // now as it was meant
  await page.getByText('Everything recorded here was sent.').waitFor();
  await looksAre(page, nLooks + 2);
  await context.close();
});

test('a browser that holds back events of another room does not send them to this one', async () => {
  const { context, page, posts, tell } = await teller();
  await page.route('**/api/v1/events', (route) => route.abort());
  await tell();
  await unsent(page).waitFor();
  // The room's tag is 8 hex digits of its own; what is kept is given that of another.
  await page.evaluate(() => new Promise((resolve) => {
    const request = indexedDB.open('fernlock', 1);
    request.onsuccess = () => {
      const store = request.result.transaction('unsent', 'readwrite').objectStore('unsent');
      store.getAll().onsuccess = (event) => {
        const [item] = event.target.result;
        store.put({ ...item, room: '00000000' }).onsuccess = resolve;
      };
    };
  }));
  await page.unroute('**/api/v1/events');
  await page.goto('/unsent');
  posts.length = 0;
  await page.getByText('another room', { exact: false }).waitFor();
  assert.deepEqual(posts, []);
  await context.close();
});
