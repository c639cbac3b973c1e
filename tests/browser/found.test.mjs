// A find, in the browser, from the five lines to taking it back; an animal that died; the aid with its drawings.
import assert from 'node:assert/strict';
import { readdirSync } from 'node:fs';
import { test } from 'node:test';
import { VIEWS, newContext, open, root, stage } from './support.mjs';

let server;
let browser;
let cookie;
let json;

stage((at) => ({ server, cookie, browser, json } = at), { browser: true });

async function onPhone(path, act) {
  const { context, errors } = await newContext(browser, VIEWS.phone, server.base, cookie);
  const page = await context.newPage();
  try {
    await open(page, path);
    await act(page, context);
    assert.deepEqual(errors, []);
  } finally {
    await context.close();
  }
}

const lines = (page) => page.locator('.first').first().locator('li').allInnerTexts();

test('the five lines stand first, the same as everywhere, and without an answer from the server', async () => {
  const { first } = await json('/api/v1/found');
  await onPhone('/found', async (page) => {
    assert.deepEqual(await lines(page), first);
    const [title, box] = await Promise.all([page.locator('h1').boundingBox(), page.locator('.first').boundingBox()]);
    assert.ok(box.y + box.height < 844 && box.y > title.y, 'all five are seen without scrolling');
  });
  const { context } = await newContext(browser, VIEWS.phone, server.base, cookie);
  const page = await context.newPage();
  await page.route('**/api/v1/**', (route) => route.abort());
  await page.goto('/found');
  await page.locator('.first li').nth(4).waitFor();
  assert.deepEqual(await lines(page), first);
  await context.close();
});

test('told, named by the aid, acted on, and taken back', async () => {
  await onPhone('/found', async (page) => {
    await page.getByRole('button', { name: 'Record it' }).click();
    assert.equal(await page.locator('[aria-invalid]').count(), 2); // where, and what
    await page.getByLabel('Where').selectOption({ label: 'Bin 3' });
    await page.getByRole('textbox', { name: 'What you saw' }).fill('white, cottony, in an axil');
    await page.getByRole('button', { name: 'Record it' }).click();
    await page.getByRole('heading', { name: 'white, cottony, in an axil' }).waitFor();
    assert.match(await page.locator('.answer').innerText(), /Open/);
    await page.getByRole('link', { name: 'What is it?' }).click();

    await page.locator('.asked').waitFor();
    const asked = new Set();
    for (let k = 0; k < 3; k += 1) { // whatever is asked, "cannot tell" goes on to another question
      const question = await page.locator('.asked h2').innerText();
      assert.ok(!asked.has(question));
      asked.add(question);
      await page.locator('.asked .unsure').click();
      await page.waitForFunction((old) => document.querySelector('.asked h2')?.textContent !== old, question);
    }
    assert.equal(await page.locator('.given li').count(), 3);
    await page.locator('.given button').first().click(); // taken back
    await page.waitForFunction(() => document.querySelectorAll('.given li').length === 2);
    const fold = page.getByText('Answer another question');
    await fold.click();
    const cotton = page.getByRole('group', { name: 'Is there white cotton or wax?' }).first();
    await cotton.getByRole('button').filter({ hasText: /^yes/i }).first().click();
    await page.waitForFunction(() => /mealybug/i.test(document.querySelector('.ranking li')?.textContent ?? ''));
    assert.ok((await page.locator('.ranking .drawing').count()) >= 3);
    await page.getByRole('button', { name: /^Name it so[\s:]*mealybug/i }).first().click();
    await page.getByRole('heading', { name: /citrus mealybug/i }).waitFor();

    // each proposal by itself: the cleaning is recorded, and stands in the story
    const clean = page.locator('.proposals > li').filter({ hasText: 'hot soapy water, lid' });
    await clean.getByRole('button').click();
    await page.locator('.told').getByText('Bin 3 was cleaned.').waitFor();
    await page.getByText('It was nothing').click();
    await page.getByRole('button', { name: 'Take it back' }).click();
    await page.locator('.answer').filter({ hasText: 'Taken back' }).waitFor();
    // that counts from its own second on, up to a second after
    await page.waitForFunction(() => document.querySelectorAll('.proposals > li').length === 0);
    await page.locator('.told').getByText('Bin 3 was cleaned.').waitFor(); // what was done stays done
  });
  const { places } = await json('/api/v1/places');
  assert.equal(places.find(({ name }) => name === 'Bin 3').is_held, false);
});

test('where from and who else: a line of time and a list say the same', async () => {
  const { found } = await json('/api/v1/found');
  const held = found.find((line) => line.kind === 'finding' && line.is_held);
  const { outbreak } = await json(`/api/v1/found/${held.code}`);
  await onPhone(`/found/${held.code}`, async (page) => {
    await page.locator('.candidates').first().waitFor();
    const shown = page.locator('section[aria-labelledby="from"] .candidates > li');
    assert.equal(await shown.count(), Math.min(5, outbreak.trace.sources.length));
    for (const [k, source] of outbreak.trace.sources.slice(0, 5).entries()) {
      assert.equal(await shown.nth(k).locator('.chain li').count(), source.chain.length);
      assert.equal(await shown.nth(k).locator('.track .contact').count(), source.chain.filter(({ at }) => at).length);
      assert.match(await shown.nth(k).innerText(), new RegExp(source.prob_text));
    }
    const text = await page.locator('section[aria-labelledby="else"]').innerText();
    for (const { lot } of outbreak.trace.reached.slice(0, 8)) assert.ok(text.includes(lot.code), lot.code);
  });
});

test('an animal that died: a vet first, then both ways', async () => {
  await onPhone('/found/animal', async (page) => {
    assert.match((await lines(page)).join(' '), /Call your vet/);
    await page.getByLabel('Where').selectOption({ label: 'Frog tank' });
    await page.getByRole('radio', { name: 'It died' }).check();
    await page.getByRole('textbox', { name: 'Which animal' }).fill('a small frog');
    await page.getByRole('button', { name: 'Record it' }).click();
    await page.getByRole('heading', { name: 'a small frog died' }).waitFor();
    const text = await page.locator('main').innerText();
    assert.match(text, /Treating animals is the vet/);
    assert.match(text, /not known yet; it is traced over the links that a disease can use/);
    for (const word of [/\bdip\b/i, /\bsoap\b/i, /sticky card/i]) assert.doesNotMatch(await page.locator('.proposals').innerText(), word);
  });
});

test('a drawing for each that can rank', async () => {
  const names = readdirSync(`${root}data/figures`).map((name) => name.replace('.svg', ''));
  const { signs } = await json('/api/v1/signs');
  const seen = new Set();
  for (const { sign, values } of signs) {
    for (const { value } of values) {
      const { ranking } = await json(`/api/v1/identify?answers=${sign}:${value}`);
      for (const { figure } of ranking) seen.add(figure);
    }
  }
  assert.ok(seen.size > 25, `${seen.size}`);
  for (const figure of seen) assert.ok(names.includes(figure), figure);
});
