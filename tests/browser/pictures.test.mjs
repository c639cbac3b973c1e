// Pictures: what is drawn is what the API says, each has a sentence and a table, and none shouts over its neighbour.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { VIEWS, newContext, open, stage } from './support.mjs';

let at;
let page;
let errors;

stage(async (all) => {
  at = all;
  const made = await newContext(at.browser, VIEWS.laptop, at.server.base, at.cookie);
  errors = made.errors;
  page = await made.context.newPage();
}, { browser: true });

const days = (list) => new Set(list.map((one) => one.at.slice(0, 10))).size;

test('a lot on its line of time: every stay, look, evening and find, in their order', async () => {
  const { lots } = await at.json('/api/v1/lots?plain=true');
  let looked = 0;
  let found = 0;
  for (const { code } of lots.filter((lot) => lot.phase === 'quarantine' || lot.phase === 'held')) {
    const lot = await at.json(`/api/v1/lots/${code}`);
    await open(page, `/lots/${code}`);
    const figure = page.locator('figure.timeline');
    assert.equal(await figure.locator('rect.stay').count(), lot.stays.length, code);
    assert.equal(await figure.locator('> svg .mark-look').count(), days(lot.looks), code);
    assert.equal(await figure.locator('> svg .mark-step').count(), days(lot.steps), code);
    assert.equal(await figure.locator('> svg .mark-find').count(), days(lot.findings.filter((one) => !one.is_retracted)), code);
    looked += lot.looks.length;
    found += lot.findings.length;
    // Equal steps of time are equal steps of the line: each look stands where its moment is.
    const ends = [Date.parse(lot.stays[0].from_at), Date.now()];
    const xs = await figure.locator('> svg circle.mark-look').evaluateAll((all) => all.map((one) => Number(one.getAttribute('cx'))).sort((a, b) => a - b));
    const box = await figure.locator('rect.stay').evaluateAll((all) => [all[0].x.baseVal.value, Math.max(...all.map((one) => one.x.baseVal.value + one.width.baseVal.value))]);
    const want = [...new Map(lot.looks.map((look) => [look.at.slice(0, 10), look.at])).values()].map((moment) => box[0] + ((Date.parse(moment) - ends[0]) / (ends[1] - ends[0])) * (box[1] - box[0])).sort((a, b) => a - b);
    want.forEach((x, k) => assert.ok(Math.abs(x - xs[k]) < 2, `${code}: ${x} and ${xs[k]}`));
    // The sentence is the picture's name, and the table has the stays.
    const said = await figure.locator('figcaption').innerText();
    assert.equal(await figure.locator('> svg').getAttribute('aria-label'), said);
    await figure.getByText('Where it stood, as a table').click();
    assert.equal(await figure.locator('tbody tr').count(), lot.stays.length);
  }
  assert.ok(looked > 3 && found > 0);
});

test('a family: a line for each lot, from its mother, on the day it was cut', async () => {
  const { lots } = await at.json('/api/v1/lots?plain=true');
  const child = (await Promise.all(lots.map((lot) => at.json(`/api/v1/lots/${lot.code}`)))).find((lot) => lot.mother);
  const mother = await at.json(`/api/v1/lots/${child.mother.code}`);
  assert.deepEqual(child.family.map((one) => one.lot.id).sort(), mother.family.map((one) => one.lot.id).sort());
  for (const lot of [child, mother]) {
    await open(page, `/lots/${lot.code}`);
    const figure = page.locator('figure.lineage');
    assert.equal(await figure.locator('line.life').count(), lot.family.length);
    assert.equal(await figure.locator('line.life.own').count(), 1);
    assert.equal(await figure.locator('line.cut-from').count(), lot.family.filter((one) => one.mother_id).length);
    await figure.getByText('The family as a table').click();
    assert.equal(await figure.locator('tbody tr').count(), lot.family.length);
    const others = lot.family.filter((one) => one.lot.id !== lot.id).map((one) => one.lot.code);
    for (const code of others) assert.equal(await figure.getByRole('link', { name: code }).count(), 1);
  }
  assert.deepEqual(errors, []);
});

test('a lot without a family draws none', async () => {
  const { lots } = await at.json('/api/v1/lots?plain=true');
  const whole = await Promise.all(lots.map((lot) => at.json(`/api/v1/lots/${lot.code}`)));
  await open(page, `/lots/${whole.find((lot) => lot.family.length === 1).code}`);
  assert.equal(await page.locator('figure.lineage').count(), 0);
});

test('what-ifs answer while the control moves, without a button', async () => {
  const { lots } = await at.json('/api/v1/lots?plain=true');
  const plans = await Promise.all(lots.filter((lot) => lot.phase === 'quarantine').map((lot) => at.json(`/api/v1/lots/${lot.code}/looks`)));
  await open(page, `/lots/${plans.find(({ plan }) => plan.release_on > new Date().toISOString()).lot.code}/looks`);
  const date = page.locator('.then-date');
  const slider = page.getByRole('slider').first();
  const seen = new Set([await date.innerText()]);
  for (let k = 0; k < 8; k++) {
    const answered = page.waitForResponse((response) => response.url().includes('/looks/date'));
    await slider.press('ArrowRight');
    await answered;
    await page.waitForFunction(() => document.querySelector('.then-date')?.textContent);
    seen.add(await date.innerText());
  }
  assert.ok(seen.size > 1, [...seen].join());
});
