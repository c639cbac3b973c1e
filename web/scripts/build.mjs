// Bundles src/ into build/: hashed names, index.html, the description of the API as JSON, the icon.
//     node scripts/build.mjs [--watch]
import { copyFileSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { basename } from 'node:path';
import * as esbuild from 'esbuild';
import { parse } from 'yaml';
import { figures } from './figures.mjs';

const web = new URL('../', import.meta.url);
const at = (path) => new URL(path, web);
const isWatching = process.argv.includes('--watch');

function clean() {
  mkdirSync(at('build/'), { recursive: true });
  for (const name of readdirSync(at('build/'))) {
    if (!name.endsWith('.d.ts')) rmSync(at(`build/${name}`), { recursive: true });
  }
}

// The page names the hashed files; everything else is loaded by them.
function writeIndex(outputs) {
  const made = Object.entries(outputs).filter(([, output]) => output.entryPoint);
  const named = (entry) => basename(made.find(([, output]) => output.entryPoint === entry)[0]);
  const page = readFileSync(at('src/index.html'), 'utf8')
    .replace('{{script}}', `/${named('src/main.tsx')}`)
    .replace('{{style}}', `/${named('src/style.css')}`);
  writeFileSync(at('build/index.html'), page);
}

function writeRest() {
  const api = parse(readFileSync(at('../api/openapi.yaml'), 'utf8'));
  writeFileSync(at('build/openapi.json'), JSON.stringify(api));
  copyFileSync(at('src/icon.svg'), at('build/icon.svg'));
}

const index = {
  name: 'index',
  setup(build) {
    build.onEnd((result) => {
      if (result.metafile && result.errors.length === 0) {
        writeIndex(result.metafile.outputs);
        writeRest();
      }
    });
  },
};

const options = {
  absWorkingDir: at('.').pathname,
  entryPoints: ['src/main.tsx', 'src/style.css'],
  outdir: 'build',
  bundle: true,
  splitting: true,
  format: 'esm',
  target: ['es2021'],
  minify: !isWatching,
  jsx: 'automatic',
  jsxImportSource: 'preact',
  entryNames: '[name]-[hash]',
  chunkNames: 'chunk-[hash]',
  assetNames: '[name]-[hash]',
  legalComments: 'none',
  metafile: true,
  plugins: [index, figures],
  logLevel: isWatching ? 'info' : 'warning',
};

clean();
if (isWatching) {
  await (await esbuild.context(options)).watch();
} else {
  await esbuild.build(options);
}
