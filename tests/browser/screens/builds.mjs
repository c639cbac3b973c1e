// Builds, the collection and moving in, for the sweep of screens.test.mjs.
export const screens = {
  builds: () => '/builds',
  'plan a build': () => '/builds/plan',
  collection: () => '/collection',
  batches: () => '/batches',
  'moving in': () => '/moving-in',
};
