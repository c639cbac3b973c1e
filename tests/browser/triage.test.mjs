// At the door in a real browser: what leans which way, one tap for what was done, undone in one tap; price and
// claim window told with the arrival; today says until when.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { VIEWS, newContext, open, stage } from './support.mjs';

let server;
let browser;
let cookie;
let json;

stage((at) => ({ server, cookie, browser, json } = at), { browser: true });

test('an arrival with a price and a claim window is weighed, sent back in one tap, and undone', async () => {
  const { context, errors } = await newContext(browser, { ...VIEWS.phone, timezoneId: 'UTC' }, server.base, cookie);
  const page = await context.newPage();
  await open(page, '/arrive');
  await page.getByRole('combobox', { name: 'Plant 1', exact: true }).fill('Door fig');
  await page.getByText('Different for this one').click();
  await page.getByRole('textbox', { name: /What it cost/ }).fill('0.50');
  await page.getByRole('textbox', { name: 'From' }).or(page.getByRole('combobox', { name: 'From' })).first().fill('A stall by the door');
  await page.getByText('On its label…').or(page.locator('summary', { hasText: '…' }).last()).first().click();
  await page.getByRole('textbox', { name: /takes it back/ }).fill('10');
  await page.getByRole('button', { name: 'Show me tonight' }).click();
  await page.getByRole('link', { name: 'Keep it, or send it back?' }).click();
  await page.getByRole('heading', { level: 1, name: 'At the door' }).waitFor();
  await page.getByRole('heading', { level: 2, name: 'Door fig' }).waitFor();
  const { lots } = await json('/api/v1/triage');
  const weighed = lots.find((one) => one.lot.name === 'Door fig');
  assert.deepEqual([weighed.price, weighed.claim.take_back_days, weighed.leans, weighed.why], [0.5, 10, 'return', 'room_dear']);
  assert.ok(await page.getByText(weighed.text).isVisible());
  const { lines } = await json('/api/v1/today');
  const line = lines.find((one) => one.kind === 'claim');
  assert.match(line.text, /could still go back until \d+ \w+/);
  assert.equal(line.on, weighed.claim.until_on);
  await page.getByRole('button', { name: /^It went back.*Door fig/ }).click();
  await page.getByText('Door fig sent back').waitFor();
  const gone = async (is) => {
    let phase;
    for (let k = 0; k < 50 && (phase === undefined || (phase === 'gone') !== is); k += 1) {
      ({ phase } = await json(`/api/v1/lots/${weighed.lot.code}`));
      await page.waitForTimeout(100);
    }
    assert.equal(phase === 'gone', is);
  };
  await gone(true);
  await page.getByRole('button', { name: 'Undo' }).click();
  await gone(false);
  await page.getByRole('heading', { level: 2, name: 'Door fig' }).waitFor();
  await page.getByRole('button', { name: /^Only a tip was kept.*Door fig/ }).click();
  await gone(true);
  const all = await json('/api/v1/lots');
  const tip = all.lots.find((lot) => lot.name === 'Door fig' && lot.id !== weighed.lot.id);
  assert.deepEqual([tip.form, tip.count], ['unrooted_cutting', 1]);
  assert.deepEqual(errors, []);
  await context.close();
});
