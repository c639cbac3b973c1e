// Photos: chosen, made smaller, kept in the browser, sent, shown; also without a network; what the camera wrote
// about the place is gone. The picture is drawn by the browser itself and given an Exif segment here.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { fits, fitting } from './described.mjs';
import { newContext, open, stage, VIEWS } from './support.mjs';

let server;
let cookie;
let browser;
let ask;
let json;
stage((at) => ({ server, cookie, browser, ask, json } = at), { browser: true });

/** A JPEG of 900 x 600 as the browser draws it, with an Exif segment that names a place. */
async function picture(page) {
  const base64 = await page.evaluate(() => {
    const canvas = document.createElement('canvas');
    canvas.width = 900;
    canvas.height = 600;
    const pen = canvas.getContext('2d');
    pen.fillStyle = '#2a6';
    pen.fillRect(0, 0, 900, 600);
    pen.fillStyle = '#fff';
    pen.fillRect(300, 200, 90, 60);
    return canvas.toDataURL('image/jpeg', 0.9).split(',')[1];
  });
  const plain = Buffer.from(base64, 'base64');
  const body = Buffer.from('Exif\0\0MM\0*\0\0\0\x08\0\0 52 N 13 E, the attic', 'latin1');
  const head = Buffer.from([0xff, 0xe1, 0, body.length + 2]);
  return Buffer.concat([plain.subarray(0, 2), head, body, plain.subarray(2)]);
}
const has = (bytes, text) => Buffer.from(bytes).includes(Buffer.from(text, 'latin1'));

const keep = (body, headers = {}) =>
  ask('/api/v1/photos', { method: 'POST', headers: { 'Content-Type': 'image/jpeg', 'X-Requested-By': 'test', ...headers }, body });

test('the API takes a JPEG alone, strips it, and gives it back to who is signed in', async () => {
  const { context } = await newContext(browser, VIEWS.laptop, server.base, cookie);
  const page = await context.newPage();
  await open(page, '/photos');
  const photo = await picture(page);
  assert.ok(has(photo, 'the attic'));
  const kept = await fitting('PhotoKept', await (await keep(photo)).json());
  assert.equal(kept.width_px, 900);
  assert.ok(kept.segments_dropped >= 1);
  const again = await (await keep(photo)).json();
  assert.equal(again.sha256, kept.sha256);
  const shown = await ask(`/api/v1/photos/${kept.sha256}`);
  assert.equal(shown.headers.get('content-type'), 'image/jpeg');
  assert.equal(shown.headers.get('x-content-type-options'), 'nosniff');
  assert.match(shown.headers.get('cache-control'), /^private, .*immutable$/);
  assert.ok(!has(await shown.arrayBuffer(), 'the attic'));

  assert.equal((await keep(Buffer.from('GIF89a'))).status, 400);
  assert.equal((await keep(photo, { 'Content-Type': 'image/png' })).status, 415);
  assert.equal((await ask('/api/v1/photos', { method: 'POST', headers: { 'Content-Type': 'image/jpeg' }, body: photo })).status, 415);
  assert.equal((await keep(Buffer.alloc(2 * 1024 * 1024 + 1))).status, 413);
  assert.equal((await keep(photo, { Origin: 'http://evil.example' })).status, 403);
  assert.equal((await fetch(`${server.base}/api/v1/photos/${kept.sha256}`)).status, 401);
  assert.equal((await ask(`/api/v1/photos/${'0'.repeat(64)}`)).status, 404);
  assert.equal((await ask('/api/v1/photos/..%2Froom.sqlite')).status, 400);
  await context.close();
});

test('on a phone without a network: chosen, told, sent when it is back, shown, taken back', async () => {
  const { context, errors } = await newContext(browser, VIEWS.phone, server.base, cookie);
  const page = await context.newPage();
  const { lots } = await json('/api/v1/lots');
  const lot = lots[0];
  await open(page, `/lots/${lot.code}`);
  const photo = await picture(page);
  await context.setOffline(true);
  await page.getByLabel('Choose a picture').setInputFiles({ name: 'leaf.jpg', mimeType: 'image/jpeg', buffer: photo });
  await page.getByRole('textbox', { name: 'What is to be seen' }).fill('webbing under a leaf');
  await page.getByRole('button', { name: 'Keep it' }).click();
  await page.locator('.unsent-mark').waitFor();
  await context.setOffline(false);
  await page.evaluate(() => window.dispatchEvent(new Event('focus')));
  await page.getByRole('img', { name: 'webbing under a leaf' }).waitFor();
  const { photos } = await fitting('Photos', await json(`/api/v1/photos?of=${lot.code}`));
  assert.equal(photos.length, 1);
  assert.equal(photos[0].lot.id, lot.id);
  const bytes = await (await ask(`/api/v1/photos/${photos[0].sha256}`)).arrayBuffer();
  assert.ok(!has(bytes, 'Exif') && !has(bytes, 'the attic'));
  await page.getByRole('link', { name: 'webbing under a leaf' }).click();
  await page.getByRole('heading', { level: 1, name: 'webbing under a leaf' }).waitFor();
  const width = await page.locator('.photo-large').evaluate((img) => img.decode().then(() => img.naturalWidth));
  assert.equal(width, 900);
  await page.getByRole('button', { name: 'Take it back' }).click();
  await page.getByText('There is no such photo, or it was taken back.').waitFor();
  assert.equal((await json(`/api/v1/photos?of=${lot.code}`)).photos.length, 0);
  assert.deepEqual(errors.filter((text) => !/ERR_INTERNET_DISCONNECTED/.test(text)), []);
  await context.close();
});

test('moved in by photo, named later: the photo stays with it', async () => {
  const { context, errors } = await newContext(browser, VIEWS.laptop, server.base, cookie);
  const page = await context.newPage();
  await open(page, '/moving-in');
  const photo = await picture(page);
  const place = (await json('/api/v1/places')).places.find((one) => one.kind === 'enclosure');
  await page.getByLabel('Where they stand').selectOption(place.id);
  await page.getByLabel('Photograph a plant').setInputFiles({ name: 'a.jpg', mimeType: 'image/jpeg', buffer: photo });
  await page.getByText('1 plant moved in by photo.').waitFor();
  await page.getByRole('link', { name: 'To be named' }).click();
  await page.getByRole('combobox', { name: 'What it is' }).fill('Ficus pumila');
  await page.getByRole('button', { name: 'That is it' }).click();
  await page.getByText('To be named').waitFor({ state: 'detached' });
  const { photos, to_name: unnamed } = await json('/api/v1/photos');
  assert.equal(unnamed.length, 0);
  assert.equal(photos[0].lot.name, 'Ficus pumila');
  const lot = await json(`/api/v1/lots/${photos[0].lot.id}`);
  assert.equal(lot.place.id, place.id);
  assert.equal(lot.use, place.strictest_use);
  assert.deepEqual(lot.conflicts, []);
  assert.deepEqual(errors, []);
  await context.close();
});

test('told with a find, it is the find’s', async () => {
  const { context } = await newContext(browser, VIEWS.phone, server.base, cookie);
  const page = await context.newPage();
  await open(page, '/found');
  await page.getByLabel('Take a photo').setInputFiles({ name: 'b.jpg', mimeType: 'image/jpeg', buffer: await picture(page) });
  await page.getByRole('button', { name: 'Not this one' }).waitFor();
  await page.getByLabel('Where').selectOption({ label: 'Bin 3' });
  await page.getByRole('textbox', { name: 'What you saw' }).fill('something small');
  await page.getByRole('button', { name: 'Record it' }).click();
  await page.getByRole('heading', { level: 1, name: 'something small' }).waitFor();
  await page.locator('.photos img').waitFor();
  const found = (await json('/api/v1/photos')).photos.find((one) => one.subject_kind === 'finding');
  assert.equal(found.place.name, 'Bin 3');
  await context.close();
});

test('a photo taken while an arrival is told stays with its lot', async () => {
  const { context, errors } = await newContext(browser, VIEWS.phone, server.base, cookie);
  const page = await context.newPage();
  await open(page, '/arrive');
  await page.getByRole('combobox', { name: 'Plant 1', exact: true }).fill('Photographed fern');
  await page.getByText('Different for this one').click();
  await page.getByLabel('Choose a picture').setInputFiles({ name: 'fern.jpg', mimeType: 'image/jpeg', buffer: await picture(page) });
  await page.locator('.photo-new img').waitFor();
  await page.getByRole('textbox', { name: 'From' }).or(page.getByRole('combobox', { name: 'From' })).first().fill('Saturday market');
  await page.getByRole('button', { name: 'Show me tonight' }).click();
  await page.waitForURL(/\/tonight\//);
  await page.locator('main').getByText('Photographed fern').first().waitFor(); // it was sent
  const { lots } = await json('/api/v1/lots?plain=true');
  const lot = lots.find((one) => one.name === 'Photographed fern');
  await open(page, `/lots/${lot.code}`);
  await page.locator('.photos img').waitFor();
  assert.equal(fitting('Photos', await json(`/api/v1/photos?of=${lot.id}`)).photos.length, 1);
  await context.close();
  assert.deepEqual(errors, []);
});
