// Which plants suit a place, for the sweep of screens.test.mjs.
export const screens = {
  'what suits': ({ place }) => `/places/${place('Frog tank')}/suits`,
};
