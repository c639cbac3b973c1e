// The demo room says on every screen that it is one, and leads to a room of one's own; another room does not.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { test } from 'node:test';
import { axe, cookieOf, newContext, open, run, stage, startServer, VIEWS } from './support.mjs';

let at;
stage((given) => { at = given; }, { browser: true });

test('the demo is marked on every screen', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'fernlock-demo-'));
  const room = join(folder, 'demo');
  run(room, 'demo');
  const server = await startServer(room);
  try {
    const { context, errors } = await newContext(at.browser, VIEWS.narrow, server.base, await cookieOf(server));
    const page = await context.newPage();
    const mark = page.getByRole('banner').getByText('This is the demo room.');
    for (const path of ['/pages', '/lots', '/sink']) {
      await open(page, path);
      await mark.waitFor();
    }
    await page.getByRole('link', { name: 'A room of your own' }).click();
    await page.getByRole('heading', { name: 'From the demo to a room of your own' }).waitFor();
    await page.getByText('fernlock --room room init').waitFor();
    assert.deepEqual(await axe(page), { violations: [], incomplete: [] });
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth));
    await context.close();
    assert.deepEqual(errors, []);
  } finally {
    await server.stop();
    rmSync(folder, { recursive: true, force: true });
  }
});

test('another room bears no mark', async () => {
  const { context } = await newContext(at.browser, VIEWS.laptop, at.server.base, at.cookie);
  const page = await context.newPage();
  const asked = page.waitForResponse((response) => response.url().endsWith('/api/v1/room'));
  await open(page, '/settings');
  await asked;
  await page.getByRole('heading', { name: 'Labels' }).waitFor();
  assert.equal(await page.getByText('This is the demo room.').count(), 0);
  await context.close();
});
