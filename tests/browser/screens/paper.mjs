// Print and share, for the sweep of screens.test.mjs.
export const screens = {
  'print and share': () => '/paper',
  'print and share, of a lot': ({ lot }) => `/paper?lot=${lot('quarantine')}`,
};
