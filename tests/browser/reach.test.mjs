// For everyone: keyboard alone (WCAG 2.2: 2.1.1, 2.1.2, 2.4.3, 2.4.7, 2.4.11), text of twice the size (1.4.4, 1.4.10),
// names for who hears the page (4.1.2), less motion (2.3.3), the system's own colours (1.4.1, 1.4.11), the reader's
// locale. What axe finds is in screens.test.mjs.
import assert from 'node:assert/strict';
import { after, before, describe, test } from 'node:test';
import { VIEWS, newContext, open, shown, stage } from './support.mjs';

let at;
const screens = {};

stage(async (all) => {
  at = all;
  const { lots } = await at.json('/api/v1/lots?plain=true');
  const { places } = await at.json('/api/v1/places?plain=true');
  const { sources } = await at.json('/api/v1/sources');
  const lot = (phase) => lots.find((one) => one.phase === phase).code;
  const place = (kind) => places.find((one) => one.kind === kind && one.lots.length > 0).code;
  Object.assign(screens, {
    today: '/', lots: '/lots', lot: `/lots/${lot('quarantine')}`, gate: `/lots/${lot('held')}/gate/stock`, looks: `/lots/${lot('quarantine')}/looks`,
    chance: `/lots/${lot('quarantine')}/chances/western_flower_thrips`, places: '/places', place: `/places/${place('bin')}`, enclosure: `/places/${place('enclosure')}`,
    collection: '/collection', climate: '/climate', sources: '/sources', source: `/sources/${sources[0].code}`, paper: '/paper', record: '/record', arrive: '/arrive',
    move: `/lots/${lot('quarantine')}/do/move`, found: '/found', what: '/found/what', history: '/history', sink: '/sink', pages: '/pages', builds: '/builds',
  });
}, { browser: true });

const context = (view) => newContext(at.browser, view, at.server.base, at.cookie);

/* ---- in the page ---- */

/** What Tab should reach: of radio buttons of one name only one. */
function reachable() {
  const all = [...document.querySelectorAll('a[href], button, input, select, textarea, summary, [tabindex="0"]')].filter(
    (one) => one.checkVisibility({ checkVisibilityCSS: true }) && !one.disabled && one.tabIndex >= 0,
  );
  const radios = new Set();
  return all.filter((one) => {
    if (one.type !== 'radio') return true;
    const isNew = !radios.has(one.name);
    radios.add(one.name);
    return isNew;
  }).length;
}

/** The focused element: whether it is new, whether the focus shows, and whether something lies over it. */
function focused() {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const isNew = !one.dataset.wasReached;
  one.dataset.wasReached = 'yes';
  const rings = [one, one.nextElementSibling, one.closest('.line'), one.closest('label')].filter(Boolean).map((with_) => getComputedStyle(with_));
  const hasRing = rings.some((style) => style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2);
  const box = one.getBoundingClientRect();
  const over = document.elementFromPoint(Math.min(Math.max(box.x + box.width / 2, 1), innerWidth - 1), box.y + Math.min(box.height / 2, 20));
  const isSeen = box.height === 0 || over === null || one.contains(over) || over.contains(one) || Boolean(one.closest('label')?.contains(over)) || Boolean(one.closest('li')?.contains(over));
  return { isNew, hasRing, isSeen, what: `${one.tagName} ${one.textContent.slice(0, 40) || one.getAttribute('aria-label') || one.id}` };
}

/** Text that is cut off, or lies over other text. */
function unreadable() {
  const found = [];
  const walker = document.createTreeWalker(document.querySelector('main'), NodeFilter.SHOW_TEXT);
  const boxes = [];
  while (walker.nextNode()) {
    const text = walker.currentNode;
    const parent = text.parentElement;
    if (!text.textContent.trim() || !parent.checkVisibility() || parent.closest('svg, .hidden, option, select, [aria-hidden="true"], .table-box, .table-scroll')) continue; // tables scroll by themselves
    const range = document.createRange();
    range.selectNodeContents(text);
    for (const box of range.getClientRects()) {
      if (box.right > innerWidth + 1) found.push(`beyond the edge: ${text.textContent.slice(0, 40)}`);
      boxes.push({ box, text: text.textContent.slice(0, 40), parent });
    }
    for (let up = parent; up && up !== document.body; up = up.parentElement) {
      const style = getComputedStyle(up);
      if (['hidden', 'clip'].includes(style.overflowX) && up.scrollWidth > up.clientWidth + 1 && !up.matches('.shelf')) found.push(`cut: ${text.textContent.slice(0, 40)}`);
    }
  }
  for (let i = 0; i < boxes.length; i++) {
    for (let k = i + 1; k < boxes.length && k < i + 60; k++) {
      const [a, b] = [boxes[i].box, boxes[k].box];
      const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      const isOwn = boxes[i].parent === boxes[k].parent || boxes[i].parent.contains(boxes[k].parent) || boxes[k].parent.contains(boxes[i].parent);
      if (!isOwn && wide > 4 && high > Math.min(a.height, b.height) / 2) found.push(`over each other: ${boxes[i].text} / ${boxes[k].text}`);
    }
  }
  return [...new Set(found)];
}

describe('every screen', () => {
  let laptop;
  let phone;
  before(async () => {
    laptop = await (await context(VIEWS.laptop)).context.newPage();
    phone = await (await context(VIEWS.phone)).context.newPage();
  });
  after(async () => {
    await laptop?.context().close();
    await phone?.context().close();
  });

  for (const name of ['today', 'lots', 'lot', 'gate', 'looks', 'chance', 'places', 'place', 'collection', 'climate', 'source', 'paper', 'record', 'arrive', 'move', 'found', 'history', 'sink', 'builds']) {
    test(`${name}: Tab reaches all, in sight, with a ring, and leaves`, async () => {
      const page = ['today', 'place', 'arrive', 'lots'].includes(name) ? phone : laptop; // the bar of the phone lies over the page
      await open(page, screens[name]);
      const all = await page.evaluate(reachable);
      const seen = [];
      for (let k = 0; k < all + 4; k++) {
        await page.keyboard.press('Tab');
        const here = await page.evaluate(focused);
        if (here === null || !here.isNew) break;
        seen.push(here);
      }
      assert.deepEqual(seen.filter((one) => !one.hasRing).map((one) => one.what), [], 'no ring');
      assert.deepEqual(seen.filter((one) => !one.isSeen).map((one) => one.what), [], 'out of sight');
      assert.ok(seen.length >= all, `${seen.length} of ${all} were reached`);
    });
  }

  test('text of twice the size is whole, at 1280 and at 390 px', async () => {
    for (const [name, path] of Object.entries(screens)) {
      await laptop.setViewportSize({ width: 1280, height: 800 });
      await open(laptop, path);
      await laptop.evaluate(() => document.documentElement.style.setProperty('font-size', '200%'));
      for (const width of [1280, 390]) {
        await laptop.setViewportSize({ width, height: 800 });
        const wide = await laptop.evaluate(() => document.documentElement.scrollWidth);
        assert.ok(wide <= width, `${name} at ${width}: ${wide} px`);
        assert.deepEqual(await laptop.evaluate(unreadable), [], `${name} at ${width}`);
      }
    }
    await laptop.setViewportSize({ width: 1280, height: 800 });
  });

  test('every control, picture and heading has a name, and there are landmarks', async () => {
    const session = await laptop.context().newCDPSession(laptop);
    const NAMED = ['button', 'link', 'textbox', 'searchbox', 'combobox', 'checkbox', 'radio', 'slider', 'spinbutton', 'image', 'heading', 'DisclosureTriangle', 'figure', 'navigation'];
    for (const [name, path] of Object.entries(screens)) {
      await open(laptop, path);
      const { nodes } = await session.send('Accessibility.getFullAXTree');
      const live = nodes.filter((node) => !node.ignored);
      const nameless = live.filter((node) => NAMED.includes(node.role?.value) && !['figure'].includes(node.role.value) && !node.name?.value?.trim());
      assert.deepEqual(nameless.map((node) => node.role.value), [], name);
      for (const landmark of ['main', 'banner', 'contentinfo']) assert.equal(live.filter((node) => node.role?.value === landmark).length, 1, `${name}: ${landmark}`);
      assert.ok(live.some((node) => node.role?.value === 'navigation'), name);
    }
  });

  test('these checks see what is wrong', async () => {
    await open(laptop, screens.sources);
    await laptop.evaluate(() => {
      const main = document.querySelector('main');
      const put = (tag, text, style) => {
        const one = main.appendChild(document.createElement(tag));
        one.textContent = text;
        Object.assign(one.style, style);
        return one;
      };
      put('p', 'a text that is cut off here and now', { width: '40px', overflow: 'hidden', whiteSpace: 'nowrap' });
      put('p', 'lies over the other', { marginTop: '-1.6em' });
      put('p', 'beyond', { position: 'absolute', left: '3000px', top: '0' });
      put('button', 'bare', { outline: 'none' }).focus();
    });
    const found = (await laptop.evaluate(unreadable)).join();
    for (const part of ['cut: a text', 'over each other', 'beyond the edge: beyond']) assert.ok(found.includes(part), found);
    assert.equal((await laptop.evaluate(focused)).hasRing, false);
  });

  test('nothing moves where less motion is asked for', async () => {
    for (const name of ['today', 'places', 'lot', 'looks']) {
      await open(phone, screens[name]);
      const moving = await phone.evaluate(() => [...document.querySelectorAll('*')].filter((one) => {
        const style = getComputedStyle(one);
        return [style.transitionDuration, style.animationDuration].some((text) => text.split(',').some((part) => parseFloat(part) > 0.01));
      }).map((one) => one.className));
      assert.deepEqual(moving, [], name);
    }
  });

  test('marks and lines stand in the system’s own colours', async () => {
    const { context: forced } = await context(VIEWS.forced);
    const page = await forced.newPage();
    for (const name of ['lots', 'places', 'lot', 'chance']) {
      await open(page, screens[name]);
      const hidden = await page.evaluate(() => {
        const ground = getComputedStyle(document.body).backgroundColor;
        const drawn = [...document.querySelectorAll('.mark .ink, .here, .odds-line, .stay, .box')];
        return drawn.filter((one) => {
          const style = getComputedStyle(one);
          const line = one instanceof SVGElement ? style.stroke : style.borderTopColor;
          return line === ground;
        }).map((one) => one.getAttribute('class'));
      });
      assert.deepEqual(hidden, [], name);
    }
    await forced.close();
  });
});

test('the main act of each area, by keyboard alone', async () => {
  const { context: own, errors } = await context(VIEWS.laptop);
  const page = await own.newPage();
  const tabTo = async (locator) => {
    const target = await locator.first().elementHandle();
    for (let k = 0; k < 90; k++) {
      if (await target.evaluate((one) => document.activeElement === one)) return;
      await page.keyboard.press('Tab');
    }
    assert.fail(`${locator} was not reached`);
  };
  const enter = async (locator) => {
    await tabTo(locator);
    await page.keyboard.press('Enter');
  };
  // what is due leads on, and the focus goes with it
  await open(page, '/');
  await enter(page.locator('.lines .line-link'));
  await page.waitForFunction(() => document.activeElement?.tagName === 'H1' && location.pathname !== '/');
  // a lot is found by typing and opened
  await open(page, '/lots');
  const { lots } = await at.json('/api/v1/lots?plain=true');
  await tabTo(page.getByRole('searchbox'));
  await page.keyboard.type(lots[0].code);
  await page.keyboard.press('Enter');
  await page.waitForURL(`**/lots/${lots[0].code}`);
  await shown(page);
  // a fold opens; a number opens
  await open(page, screens.lot);
  await enter(page.locator('.chances summary'));
  await enter(page.locator('.chances details[open] .button'));
  await page.waitForURL('**/chances/**');
  // a control moves
  await open(page, screens.looks);
  await tabTo(page.getByRole('slider'));
  const said = await page.getByRole('slider').first().getAttribute('aria-valuetext');
  await page.keyboard.press('ArrowRight');
  assert.notEqual(await page.getByRole('slider').first().getAttribute('aria-valuetext'), said);
  // a look is recorded, and undone
  await open(page, screens.place);
  await enter(page.getByRole('button', { name: 'Nothing found' }));
  await page.locator('.recorded').waitFor();
  await enter(page.locator('.recorded').getByRole('button', { name: /^Undo/ }));
  await page.getByText('Undone', { exact: false }).first().waitFor();
  // a form is filled in and sent
  await open(page, '/new/place');
  await tabTo(page.getByRole('textbox', { name: 'Name' }));
  await page.keyboard.type('Bin by keyboard');
  await page.keyboard.press('Enter');
  await page.locator('.recorded').getByText('Bin by keyboard', { exact: false }).waitFor();
  assert.deepEqual(errors, []);
  await own.close();
});

test('dates, numbers and units are the reader’s', async () => {
  const said = async (locale) => {
    const { context: own } = await context({ ...VIEWS.laptop, locale });
    const page = await own.newPage();
    await open(page, '/');
    const kicker = await page.locator('.kicker').first().innerText();
    await open(page, screens.place);
    const facts = await page.locator('main').innerText();
    await own.close();
    return { kicker, facts };
  };
  const us = await said('en-US');
  const gb = await said('en-GB');
  const de = await said('de-DE'); // the texts are English: the dates are, too
  assert.match(us.kicker, /^\w+, \w+ \d+/); // CLDR, en-US: Saturday, March 7
  assert.match(gb.kicker, /^\w+,? \d+ \w+/); // CLDR, en-GB: Saturday 7 March
  assert.equal(de.kicker, gb.kicker);
  assert.match(us.facts, /\d °F/);
  assert.match(gb.facts, /\d °C/);
});
