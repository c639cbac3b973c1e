// Every screen, in four widths and manners: axe (WCAG 2.2 AA and best practice) finds nothing, the console
// stays silent under the strict content policy, nothing overflows at 320 px (WCAG 1.4.10), targets are 44 px
// (our rule; WCAG 2.5.8 asks 24), colours reach their contrast (WCAG 1.4.3, 1.4.11).
import assert from 'node:assert/strict';
import { readdirSync } from 'node:fs';
import { createServer } from 'node:http';
import { after, before, describe, test } from 'node:test';
import { VIEWS, axe, newContext, open, shown, stage } from './support.mjs';

// Each area lists its screens in a file of screens/: a name, and from the room its address, or
// { path, act } where something is to be done on the page first.
const areas = readdirSync(new URL('screens/', import.meta.url)).filter((name) => name.endsWith('.mjs')).sort();
const listed = {};
for (const name of areas) Object.assign(listed, (await import(`./screens/${name}`)).screens);

let json;
let server;
let browser;
let cookie;
let room;

/** What a screen's function gave: its address, and what is done on it. */
function stop(name) {
  const given = listed[name](room);
  return typeof given === 'string' ? { path: given } : given;
}

stage(async (at) => {
  ({ server, cookie, browser, json } = at);
  const { lots } = await json('/api/v1/lots');
  const { places } = await json('/api/v1/places');
  room = {
    lots,
    places,
    lot: (phase) => lots.find((one) => one.phase === phase).code,
    lotNamed: (name) => lots.find((one) => one.name === name).code,
    place: (name) => places.find((one) => one.name === name).code,
  };
}, { browser: true });

/** Headings do not skip a level, and there is one h1. */
async function checkHeadings(page, name) {
  const levels = await page.locator('h1, h2, h3, h4').evaluateAll((list) => list.map((one) => Number(one.tagName[1])));
  assert.equal(levels.filter((level) => level === 1).length, 1, name);
  levels.forEach((level, k) => assert.ok(k === 0 || level <= levels[k - 1] + 1, `${name}: h${levels[k - 1]} then h${level}`));
}

/** What is smaller than 44 px, links within sentences aside. */
function smallTargets() {
  const isInSentence = (element) => element.matches('p a, dd a, .found a, .plain a, figcaption a');
  return [...document.querySelectorAll('a, button, summary, select, input, textarea')]
    .filter((element) => element.checkVisibility() && !element.matches('.skip') && !isInSentence(element))
    .filter((element) => {
      const line = element.matches('.line-link, .box > a') ? element.closest('li') : element;
      const { width, height } = line.getBoundingClientRect();
      return height < 43.5 || width < 24;
    })
    .map((element) => `${element.tagName} "${element.textContent}"`);
}

for (const [view, options] of Object.entries(VIEWS)) {
  describe(`${view}`, () => {
    let context;
    let errors;
    let page;
    before(async () => {
      ({ context, errors } = await newContext(browser, options, server.base, cookie));
      page = await context.newPage();
    });
    after(() => context?.close());

    for (const name of Object.keys(listed)) {
      test(`${name} in ${view}`, async () => {
        errors.length = 0;
        const { path, act } = stop(name);
        await open(page, path);
        await act?.(page);
        await page.evaluate(() => {
          for (const fold of document.querySelectorAll('details')) fold.open = true;
        });
        await shown(page);
        const { violations, incomplete } = await axe(page);
        assert.deepEqual(violations, []);
        // What stands on hatching or below the pages of a phone cannot be decided by axe; nothing else may be so.
        assert.deepEqual(incomplete.filter((text) => !text.startsWith('color-contrast:')), []);
        assert.deepEqual(errors, []);
        await checkHeadings(page, name);
        assert.match(await page.title(), /^.+ · fernlock$/);
        const width = await page.evaluate(() => [document.documentElement.scrollWidth, window.innerWidth]);
        assert.ok(width[0] <= width[1], `${width[0]} px of ${width[1]} px`);
        assert.deepEqual(await page.evaluate(smallTargets), []);
        const text = await page.locator('body').innerText();
        assert.doesNotMatch(text, /undefined|NaN|\[object|null\b/);
        assert.doesNotMatch(text, /\b(safe|guaranteed?|certain(ly)?)\b/i);
      });
    }
  });
}

test('text of twice the size does not overflow a narrow screen', async () => {
  const { context } = await newContext(browser, { viewport: { width: 640, height: 900 } }, server.base, cookie);
  const page = await context.newPage();
  for (const name of ['today', 'gate', 'places']) {
    await open(page, stop(name).path);
    await page.evaluate(() => document.documentElement.style.setProperty('font-size', '200%'));
    const width = await page.evaluate(() => [document.documentElement.scrollWidth, window.innerWidth]);
    assert.ok(width[0] <= width[1], `${name}: ${width}`);
  }
  await context.close();
});

/** Contrast of two colours as WCAG 2.2 defines it (relative luminance of sRGB). */
function contrast(a, b) {
  const luminance = (text) => {
    const parts = text.match(/[\d.]+/g).slice(0, 3).map((part) => Number(part) / 255);
    const [r, g, blue] = parts.map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * blue;
  };
  const [light, dark] = [luminance(a), luminance(b)].sort((x, y) => y - x);
  return (light + 0.05) / (dark + 0.05);
}

test('colours reach their contrast in both themes', async () => {
  assert.ok(Math.abs(contrast('rgb(0,0,0)', 'rgb(255,255,255)') - 21) < 1e-9); // WCAG 2.2: 21 at most
  for (const colorScheme of ['light', 'dark']) {
    const { context } = await newContext(browser, { viewport: { width: 800, height: 600 }, colorScheme }, server.base, cookie);
    const page = await context.newPage();
    await open(page, '/');
    const colour = await page.evaluate(() => {
      const probe = document.body.appendChild(document.createElement('i'));
      const names = ['paper', 'inset', 'ink', 'quiet', 'link', 'bar', 'board'];
      return Object.fromEntries(names.map((name) => {
        probe.style.setProperty('color', `var(--${name})`);
        return [name, getComputedStyle(probe).color];
      }));
    });
    for (const [name, least] of [['ink', 7], ['quiet', 4.5], ['link', 4.5], ['bar', 4.5], ['board', 3]]) {
      for (const ground of ['paper', 'inset']) {
        const is = contrast(colour[name], colour[ground]);
        assert.ok(is >= least, `${colorScheme}: ${name} on ${ground} ${is.toFixed(2)}`);
      }
    }
    await context.close();
  }
});

// The proof that this harness catches a bad page.
const BAD = `<!doctype html><html><head><title></title></head><body><img src="/x.png"><button></button>
<a href="#a" style="display:inline-block;width:9px;height:9px;font-size:4px">a</a><a href="#b" style="display:inline-block;width:9px;height:9px;font-size:4px">b</a>
<p style="color:#bbb;background:#fff">pale</p><div style="width:3000px">wide</div><script>console.error('loud')</script></body></html>`;

test('the harness catches a bad page', async () => {
  const bad = createServer((request, response) => {
    response.setHeader('Content-Type', 'text/html');
    response.end(request.url === '/' ? BAD : '');
  });
  await new Promise((resolve) => bad.listen(0, '127.0.0.1', resolve));
  const { context, errors } = await newContext(browser, VIEWS.narrow, `http://127.0.0.1:${bad.address().port}`);
  const page = await context.newPage();
  await page.goto('/');
  const found = (await axe(page)).violations.map((text) => text.split(':')[0]);
  for (const id of ['button-name', 'html-has-lang', 'image-alt', 'document-title', 'target-size', 'color-contrast']) {
    assert.ok(found.includes(id), `${id} not in ${found}`);
  }
  assert.ok(errors.some((text) => text.includes('loud')));
  assert.ok((await page.evaluate(smallTargets)).length >= 2);
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth > window.innerWidth));
  await context.close();
  await new Promise((resolve) => bad.close(resolve));
});
