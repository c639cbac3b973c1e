// The byte budgets of the bundle hold, and can fail: the sizes are those of gzip -9 (RFC 1952).
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { test } from 'node:test';
import { root } from './support.mjs';

test('the bundle keeps its budgets', () => {
  const said = execFileSync(process.execPath, [`${root}web/scripts/budget.mjs`], { encoding: 'utf8', timeout: 60_000 });
  const [, script] = /script (\d+) of 60000/.exec(said);
  assert.ok(Number(script) > 5_000, said); // an empty bundle would keep them too
});

test('the page has nothing inline that the content policy would refuse', () => {
  const page = readFileSync(`${root}web/build/index.html`, 'utf8');
  assert.doesNotMatch(page, /<style|style=|\son\w+=|javascript:/i);
  for (const [, src] of page.matchAll(/<script[^>]*>([^<]*)/g)) assert.equal(src, '');
  for (const [, path] of page.matchAll(/(?:src|href)="([^"]+)"/g)) {
    assert.match(path, /^\//); // nothing from anywhere else
    assert.ok(existsSync(`${root}web/build${path}`), path);
  }
});

test('the lock names no host', () => {
  const lock = readFileSync(`${root}web/package-lock.json`, 'utf8');
  assert.doesNotMatch(lock, /"resolved"|\bregistry\b/);
  assert.ok(Object.keys(JSON.parse(lock).packages).length > 10);
});
