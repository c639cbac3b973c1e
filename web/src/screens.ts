// The table of screens: address, title while it is loaded, and where its code is; and the pages that the
// bar and “All pages” lead to. A screen is a module whose default export takes ScreenProps; it is loaded
// when it is first asked for, and the rest after the first one is shown, so that they open without a network.
// How to add one: web/README.md.
import type { ComponentType } from 'preact';
import { S } from './strings.en';

export interface ScreenProps {
  params: Readonly<Record<string, string>>; // what stood in the place of :name, decoded; '' when left out
  query: URLSearchParams;
}

export interface ScreenEntry {
  path: string; // '/lots/:id/gate/:use?'
  title: string;
  load: () => Promise<{ default: ComponentType<ScreenProps> }>;
  isKeepers?: true; // a phone is told that it is done at the computer
}

export const screens: readonly ScreenEntry[] = [
  // the record, shown
  { path: '/', title: S.today.title, load: () => import('./screens/today') },
  { path: '/lots', title: S.lots.title, load: () => import('./screens/lots') },
  { path: '/lots/:id', title: S.lots.title, load: () => import('./screens/lot') },
  { path: '/lots/:id/gate/:use?', title: S.lot.gate, load: () => import('./screens/gate') },
  { path: '/places', title: S.places.title, load: () => import('./screens/places') },
  { path: '/places/:id', title: S.places.title, load: () => import('./screens/place') },
  { path: '/places/:id/suits', title: S.places.title, load: () => import('./screens/suits') },

  // how sure
  { path: '/lots/:id/chances/:threat', title: S.lot.chances, load: () => import('./screens/chance') },
  { path: '/lots/:id/looks', title: S.lot.gate, load: () => import('./screens/looks') },
  { path: '/sources', title: S.pages.sources.name, load: () => import('./screens/sources') },
  { path: '/sources/:id', title: S.pages.sources.name, load: () => import('./screens/source') },

  // at the sink
  { path: '/sink', title: S.pages.sink.name, load: () => import('./screens/sink') },
  { path: '/dips', title: S.pages.dips.name, load: () => import('./screens/dips') },
  { path: '/triage', title: S.pages.triage.name, load: () => import('./screens/triage') },

  // the collection and builds
  { path: '/collection', title: S.pages.collection.name, load: () => import('./screens/collection') },
  { path: '/batches', title: S.pages.batches.name, load: () => import('./screens/batches') },
  { path: '/lots/:id/batch', title: S.pages.batches.name, load: () => import('./screens/batch') },
  { path: '/builds', title: S.pages.builds.name, load: () => import('./screens/builds') },
  { path: '/builds/plan/:code?', title: S.pages.builds.name, load: () => import('./screens/buildplan') },
  { path: '/moving-in', title: S.pages.moving.name, load: () => import('./screens/movingin'), isKeepers: true },

  // light, air and water
  { path: '/climate', title: S.pages.climate.name, load: () => import('./screens/climate') },
  { path: '/climate/:id', title: S.pages.climate.name, load: () => import('./screens/climate-place') },
  { path: '/climate/:id/file', title: S.pages.climate.name, load: () => import('./screens/climate-file'), isKeepers: true },

  // a small nursery's records
  { path: '/complaints', title: S.pages.complaints.name, load: () => import('./screens/complaints') },
  { path: '/complaints/:id', title: S.pages.complaints.name, load: () => import('./screens/complaint') },
  { path: '/pesticides', title: S.pages.pesticides.name, load: () => import('./screens/pesticides') },
  { path: '/pesticides/tell', title: S.pages.pesticides.name, load: () => import('./screens/pesticide-tell') },

  // after a find
  { path: '/found', title: S.pages.found.name, load: () => import('./screens/found') },
  { path: '/found/what', title: S.pages.what.name, load: () => import('./screens/found-what') },
  { path: '/found/animal', title: S.pages.animal.name, load: () => import('./screens/found-animal') },
  { path: '/found/trace', title: S.pages.trace.name, load: () => import('./screens/found-trace') },
  { path: '/found/:id', title: S.pages.found.name, load: () => import('./screens/found-one') },
  { path: '/found/:id/what', title: S.pages.what.name, load: () => import('./screens/found-what') },

  // photos
  { path: '/photos', title: S.pages.photos.name, load: () => import('./screens/photos') },
  { path: '/photos/:id', title: S.pages.photos.name, load: () => import('./screens/photo') },

  // paper and files
  { path: '/paper', title: S.pages.paper.name, load: () => import('./screens/paper') },

  // telling what happened
  { path: '/record', title: S.nav.record, load: () => import('./screens/record') },
  { path: '/arrive', title: S.pages.arrive.name, load: () => import('./screens/arrive') },
  { path: '/tonight/:arrival', title: S.pages.arrive.name, load: () => import('./screens/tonight') },
  { path: '/put', title: S.pages.put.name, load: () => import('./screens/put') },
  { path: '/round', title: S.pages.round.name, load: () => import('./screens/round') },
  { path: '/lots/:id/do/:what', title: S.nav.record, load: () => import('./screens/lotdo') },
  { path: '/places/:id/do/:what', title: S.nav.record, load: () => import('./screens/placedo') },
  { path: '/new/:what/:id?', title: S.nav.record, load: () => import('./screens/newthing') },
  { path: '/copies', title: S.pages.copies.name, load: () => import('./screens/copies') },
  { path: '/history', title: S.pages.history.name, load: () => import('./screens/history') },

  // the program itself
  { path: '/phone', title: S.pages.phone.name, load: () => import('./screens/pair'), isKeepers: true },
  { path: '/p', title: S.pages.join.name, load: () => import('./screens/pair-phone') },
  { path: '/devices', title: S.pages.devices.name, load: () => import('./screens/devices') },
  { path: '/settings', title: S.pages.settings.name, load: () => import('./screens/settings') },
  { path: '/pages', title: S.pages.title, load: () => import('./screens/pages') },
  { path: '/unsent', title: S.recording.unsent.title, load: () => import('./screens/unsent') },
];

export type PageGroup = keyof typeof S.pages.groups;

export interface PageLink {
  to: string;
  name: string;
  about: string;
  group: PageGroup;
}

/** What “All pages” lists, by group. */
export const pageLinks: readonly PageLink[] = [
  { to: '/', ...S.pages.today, group: 'day' },
  { to: '/sink', ...S.pages.sink, group: 'day' },
  { to: '/dips', ...S.pages.dips, group: 'day' },
  { to: '/triage', ...S.pages.triage, group: 'day' },
  { to: '/lots', ...S.pages.lots, group: 'plants' },
  { to: '/places', ...S.pages.places, group: 'plants' },
  { to: '/climate', ...S.pages.climate, group: 'plants' },
  { to: '/collection', ...S.pages.collection, group: 'plants' },
  { to: '/batches', ...S.pages.batches, group: 'plants' },
  { to: '/builds', ...S.pages.builds, group: 'plants' },
  { to: '/sources', ...S.pages.sources, group: 'plants' },
  { to: '/moving-in', ...S.pages.moving, group: 'record' },
  { to: '/complaints', ...S.pages.complaints, group: 'record' },
  { to: '/pesticides', ...S.pages.pesticides, group: 'record' },
  { to: '/found', ...S.pages.found, group: 'record' },
  { to: '/found/animal', ...S.pages.animal, group: 'record' },
  { to: '/found/what', ...S.pages.what, group: 'answers' },
  { to: '/found/trace', ...S.pages.trace, group: 'answers' },
  { to: '/photos', ...S.pages.photos, group: 'plants' },
  { to: '/paper', ...S.pages.paper, group: 'room' },
  { to: '/phone', ...S.pages.phone, group: 'room' },
  { to: '/devices', ...S.pages.devices, group: 'room' },
  { to: '/settings', ...S.pages.settings, group: 'room' },
  { to: '/arrive', ...S.pages.arrive, group: 'record' },
  { to: '/round', ...S.pages.round, group: 'day' },
  { to: '/put', ...S.pages.put, group: 'record' },
  { to: '/history', ...S.pages.history, group: 'room' },
  { to: '/copies', ...S.pages.copies, group: 'room' },
  { to: '/unsent', ...S.pages.unsent, group: 'room' },
];

/** The bar: at most five, so that it stays usable at 320 px. `also`: addresses that count as part of it. */
export const bar: readonly { to: string; name: string; also?: readonly string[] }[] = [
  { to: '/', name: S.nav.today },
  { to: '/lots', name: S.nav.lots },
  { to: '/places', name: S.nav.places },
  { to: '/record', name: S.nav.record, also: ['/arrive', '/tonight', '/put', '/round', '/new', '/history'] },
  { to: '/pages', name: S.nav.more },
];

function partsOf(path: string): string[] {
  return path.split('/').filter(Boolean);
}

function decoded(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

/** The parameters when the path has the pattern's form, else undefined. */
export function matched(pattern: string, path: string): Record<string, string> | undefined {
  const want = partsOf(pattern);
  const got = partsOf(path);
  const least = want.filter((part) => !part.endsWith('?')).length;
  if (got.length < least || got.length > want.length) return undefined;
  const params: Record<string, string> = {};
  for (const [k, part] of want.entries()) {
    const is = got[k];
    if (part.startsWith(':')) params[part.replace(/^:|\?$/g, '')] = is === undefined ? '' : decoded(is);
    else if (part !== is) return undefined;
  }
  return params;
}

/** Which screen an address shows. Fixed segments win over parameters, whatever the order of the table. */
export function screenAt(path: string): { entry: ScreenEntry; params: Record<string, string> } | undefined {
  let best: { entry: ScreenEntry; params: Record<string, string> } | undefined;
  for (const entry of screens) {
    const params = matched(entry.path, path);
    if (params && (!best || Object.keys(params).length < Object.keys(best.params).length)) best = { entry, params };
  }
  return best;
}
