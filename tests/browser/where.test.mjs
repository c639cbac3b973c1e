// docs/guide/where-things-are.md against the program: every command and every screen is in it, and nothing else.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { program, root } from './support.mjs';

const page = readFileSync(`${root}docs/guide/where-things-are.md`, 'utf8');
const cells = page.split('\n').filter((line) => line.startsWith('|') && !line.startsWith('|--')).map((line) => line.split('|').slice(1, -1).map((cell) => cell.trim()));
const coded = (text) => [...text.matchAll(/`([^`]+)`/g)].map((match) => match[1]);

test('every command has its line, and each names a command', () => {
  const help = execFileSync(program(), ['--help'], { encoding: 'utf8', timeout: 10_000 });
  const commands = [...help.matchAll(/^ {2}([a-z][a-z-]*) {2,}\S/gm)].map((match) => match[1]).filter((name) => !name.startsWith('-'));
  assert.ok(commands.length > 35, commands.join());
  const named = new Set(cells.flatMap((row) => row.flatMap(coded)).filter((text) => !text.startsWith('/')).map((text) => text.split(' ')[0]));
  assert.deepEqual(commands.filter((name) => !named.has(name)), [], 'not on the page');
  assert.deepEqual([...named].filter((name) => !commands.includes(name)), [], 'no command');
});

test('every screen has its line, and each address is a screen', () => {
  const table = readFileSync(`${root}web/src/screens.ts`, 'utf8');
  const screens = [...table.matchAll(/path: '([^']+)'/g)].map((match) => match[1]);
  assert.ok(screens.length > 30);
  const named = new Set(coded(page).filter((text) => text.startsWith('/')));
  assert.deepEqual(screens.filter((path) => !named.has(path)), [], 'not on the page');
  assert.deepEqual([...named].filter((path) => !screens.includes(path)), [], 'no screen');
});
