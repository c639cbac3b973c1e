// The frame's own screens, for the sweep of screens.test.mjs.
export const screens = {
  'all pages': () => '/pages',
  'not yet sent': () => '/unsent',
  'no such page': () => '/attic',
};
