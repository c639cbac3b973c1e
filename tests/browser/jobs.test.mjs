// Long work in the browser: it says how far it is, is found again by a page that was loaded anew, and is cancelled
// from where it was begun. A lock on the room file, held by another program, keeps what is before it from ending.
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { test } from 'node:test';
import { axe, newContext, open, stage, VIEWS } from './support.mjs';

let at;
stage((given) => { at = given; }, { browser: true });

const HOLD = `import sqlite3, sys
db = sqlite3.connect(sys.argv[1], isolation_level=None)
db.execute("BEGIN IMMEDIATE")
print("held", flush=True)
sys.stdin.readline()
db.execute("ROLLBACK")
`;

/** Holds the room's lock for writing; the returned function lets it go. */
async function holdRoom(room) {
  const child = spawn('python3', ['-c', HOLD, join(room, 'room.sqlite')], { stdio: ['pipe', 'pipe', 'inherit'] });
  await new Promise((resolve, reject) => {
    child.stdout.on('data', resolve);
    child.on('exit', (code) => reject(new Error(`the holder ended with ${code}`)));
  });
  return () => new Promise((resolve) => {
    child.removeAllListeners('exit');
    child.on('exit', resolve);
    child.stdin.end('\n');
  });
}

/** A logger's file, taken in as a job: it waits for the room's lock, five seconds at the most. */
async function beginReadings(place) {
  const csv = ['time,temperature C', ...Array.from({ length: 30 }, (_, k) => `2026-01-${String(k + 1).padStart(2, '0')}T10:00:00Z,21.5`)].join('\n');
  const response = await at.ask(`/api/v1/places/${place}/readings`, {
    method: 'POST', body: csv,
    headers: { 'Content-Type': 'text/csv', 'X-Requested-By': 'fernlock', 'Idempotency-Key': randomUUID(), Prefer: 'respond-async' },
  });
  assert.equal(response.status, 202, await response.clone().text());
  assert.equal(response.headers.get('preference-applied'), 'respond-async');
}

const section = (page, name) => page.locator('section', { has: page.getByRole('heading', { name, level: 2 }) });

test('long work says how far it is, survives a reload, and is cancelled', async () => {
  const { context, errors } = await newContext(at.browser, VIEWS.phone, at.server.base, at.cookie);
  const page = await context.newPage();
  await open(page, '/copies');
  const { places } = await at.json('/api/v1/places?plain=true');
  const letGo = await holdRoom(at.made.room);
  try {
    for (let i = 0; i < 3; i += 1) await beginReadings(places[0].id); // at least ten seconds of waiting in a row
    await section(page, 'One more copy').getByRole('button', { name: 'Make a copy now' }).click();
    const line = page.getByText('A copy is made, and read back: it waits for its turn');
    await line.waitFor();
    await page.getByRole('progressbar', { name: 'A copy is made, and read back' }).waitFor();
    assert.deepEqual(await axe(page), { violations: [], incomplete: [] });
    assert.equal((await at.ask('/api/v1/today')).status, 200); // others are answered meanwhile
    await page.reload();
    await line.waitFor();
    assert.ok(await section(page, 'One more copy').getByRole('button', { name: 'Make a copy now' }).isDisabled());
    await page.getByRole('button', { name: 'Cancel' }).click();
    await page.getByText('Cancelled. Nothing was changed.').waitFor();
    await section(page, 'One more copy').getByRole('button', { name: 'Make a copy now', disabled: false }).waitFor();
  } finally {
    await letGo();
  }
  assert.deepEqual(readdirSync(at.made.room).filter((name) => name === 'backups').flatMap((name) => readdirSync(join(at.made.room, name))).filter((name) => name.includes('part')), []);

  // and to its end: the copy, the check, the archive
  await section(page, 'Is the record whole?').getByRole('button', { name: 'Check it now' }).click();
  await page.getByText('The record is whole: all of it agrees.').waitFor();
  await section(page, 'Take everything out').getByRole('button').click();
  const link = page.getByRole('link', { name: 'Save it' });
  await link.waitFor();
  const download = page.waitForEvent('download');
  await link.click();
  assert.equal((await download).suggestedFilename(), 'room.zip');
  await context.close();
  assert.deepEqual(errors, []);
});
