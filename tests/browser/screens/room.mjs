// Copies of the record, for the sweep of screens.test.mjs.
export const screens = {
  copies: () => '/copies',
};
