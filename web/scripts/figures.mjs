// The line drawings of data/figures as a module, "figures": each a list of shapes, drawn by parts/found/figure.tsx
// in the page's own colours. Only what a drawing may hold is taken over: shapes and plain attributes.
import { readdirSync, readFileSync } from 'node:fs';

const folder = new URL('../../data/figures/', import.meta.url);
const SHAPES = ['path', 'circle', 'ellipse'];

function shapesOf(name) {
  const text = readFileSync(new URL(name, folder), 'utf8');
  const inside = text.replace(/^[^]*?<svg[^>]*>/, '').replace(/<\/svg>\s*$/, '').replace(/<title>[^<]*<\/title>/, '');
  const shapes = [...inside.matchAll(/<(\w+)((?:\s+[\w-]+="[^"]*")*)\s*\/>/g)].map(([, tag, attributes]) => {
    if (!SHAPES.includes(tag)) throw new Error(`${name}: <${tag}> is no shape`);
    return [tag, Object.fromEntries([...attributes.matchAll(/([\w-]+)="([^"]*)"/g)].map(([, key, value]) => [key, value]))];
  });
  if (inside.replace(/<\w+(?:\s+[\w-]+="[^"]*")*\s*\/>/g, '').trim() !== '') throw new Error(`${name}: more than shapes`);
  return shapes;
}

export const figures = {
  name: 'figures',
  setup(build) {
    build.onResolve({ filter: /^figures$/ }, () => ({ path: 'figures', namespace: 'figures' }));
    build.onLoad({ filter: /.*/, namespace: 'figures' }, () => {
      const names = readdirSync(folder).filter((name) => name.endsWith('.svg')).sort();
      const all = Object.fromEntries(names.map((name) => [name.slice(0, -4), shapesOf(name)]));
      return { contents: JSON.stringify(all), loader: 'json' };
    });
  },
};
