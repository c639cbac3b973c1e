// What is done with the room itself: a copy made and read back, the record checked, a history card taken in, being away.
import assert from 'node:assert/strict';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { test } from 'node:test';
import { fitting } from './described.mjs';
import { VIEWS, makeRoom, newContext, open, run, stage } from './support.mjs';

let at;
let page;
let errors;

stage(async (all) => {
  at = all;
  const made = await newContext(at.browser, VIEWS.laptop, at.server.base, at.cookie);
  errors = made.errors;
  page = await made.context.newPage();
}, { browser: true });

test('a copy is made and read back; the record is checked', async () => {
  assert.equal(fitting('BackupState', await at.json('/api/v1/backup')).trouble_text, null);
  await open(page, '/copies');
  await page.getByRole('button', { name: 'Make a copy now' }).click();
  await page.getByText('read back and found whole', { exact: false }).waitFor();
  const state = fitting('BackupState', await at.json('/api/v1/backup'));
  assert.equal(state.newest_on, new Date().toISOString().slice(0, 10));
  await page.getByText(state.newest_file, { exact: false }).first().waitFor();
  // the copy is a room: another program run reads it and finds as many events
  const { counts } = await at.json('/api/v1/room');
  const other = makeRoom({ isEmpty: true });
  run(other.room, 'restore', join(at.made.room, 'backups', state.newest_file));
  assert.equal(JSON.parse(run(other.room, 'show', '--json')).counts.events, counts.events);
  other.remove();

  await page.getByRole('button', { name: 'Check it now' }).click();
  await page.getByText(`It holds ${counts.events} events`, { exact: false }).last().waitFor();
  const json = { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{}' };
  assert.equal(fitting('Verified', await at.json('/api/v1/verify', json)).events, counts.events);
  const made = await at.ask('/api/v1/backup', json);
  assert.equal(made.status, 201);
  fitting('BackupMade', await made.json());
});

test('a history card of another room is taken in where it is read', async () => {
  const other = makeRoom();
  const card = run(other.room, 'history', 'write', JSON.parse(run(other.room, 'show', 'lots', '--json')).lots.find((lot) => lot.phase === 'quarantine').code, '--out', '-');
  const file = join(other.room, 'card.json');
  writeFileSync(file, card);
  await open(page, '/paper');
  await page.getByRole('button', { name: 'Take it in' }).click();
  await page.getByText('Choose a file, a source and a place.').waitFor();
  await page.getByLabel('The card file').setInputFiles(file);
  await page.getByLabel('Who it came from').selectOption({ label: 'Saturday market' });
  await page.getByLabel('Where it stands now').selectOption({ label: 'Bench by the sink' });
  await page.getByRole('button', { name: 'Take it in' }).click();
  await page.getByText('of its past', { exact: false }).waitFor();
  const href = await page.getByRole('link', { name: 'Open it' }).getAttribute('href');
  const code = href.split('/').pop();
  // undone where it was recorded: its events are voided as one, and the lot is gone
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.getByText('is taken back, with all that came with it', { exact: false }).waitFor();
  assert.equal((await at.ask(`/api/v1/lots/${code}`)).status, 404);
  await page.getByRole('button', { name: 'Take it in' }).click(); // and taken in again
  await page.getByText('of its past', { exact: false }).waitFor();
  await page.getByRole('link', { name: 'Open it' }).click();
  await page.getByRole('heading', { name: 'Told by another' }).waitFor();
  other.remove();
});

test('away: told, shown, and over', async () => {
  await open(page, '/settings');
  const until = new Date(Date.now() + 9 * 86_400_000).toISOString().slice(0, 10);
  await page.getByLabel('Back on').fill(until);
  await page.getByRole('button', { name: 'I am away then' }).click();
  await page.getByRole('button', { name: 'I am back, or staying' }).waitFor();
  const { lines } = await at.json('/api/v1/today');
  assert.ok(lines.some((line) => line.kind === 'away'));
  assert.equal(fitting('Room', await at.json('/api/v1/room')).away_until_on, until);
  assert.equal((await at.json('/api/v1/room')).round.effort, 'careful'); // the other settings stayed
  await page.getByRole('button', { name: 'I am back, or staying' }).click();
  await page.getByText('Nothing is planned.').waitFor();
  assert.ok((await at.json('/api/v1/today')).lines.every((line) => line.kind !== 'away'));
  assert.deepEqual(errors, []);
});
