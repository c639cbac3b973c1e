// At the sink, for the sweep of screens.test.mjs.
export const screens = {
  sink: () => '/sink',
  dips: () => '/dips',
  triage: () => '/triage',
};
