// Letting a phone in, devices, settings: for the sweep of screens.test.mjs.
export const screens = {
  'a phone beside the sink': () => '/phone',
  'let this phone in': () => '/p',
  devices: () => '/devices',
  settings: () => '/settings',
};
