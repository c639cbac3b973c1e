// The record of pesticides, for the sweep of screens.test.mjs.
export const screens = {
  'the record of pesticides': () => '/pesticides',
  "customers' complaints": () => '/complaints',
  'a treatment is written down': () => '/pesticides/tell',
};
