// The screens on which things are told, for the sweep of screens.test.mjs.
const settle = (page) => page.waitForFunction(() => document.querySelectorAll('main form, main .prices, main .round').length > 0);
const on = (path) => ({ path, act: settle });

export const screens = {
  record: () => '/record',
  arrive: () => on('/arrive'),
  tonight: ({ lots }) => `/tonight/${lots.find((lot) => lot.phase === 'arrived').arrival_id}`,
  'which bin': () => ({ path: '/put', act: (page) => page.locator('.prices').waitFor() }),
  'a look round': () => '/round',
  release: ({ lot }) => ({
    path: `/lots/${lot('quarantine')}/do/release`,
    act: async (page) => {
      await page.locator('main select').selectOption({ label: 'Frog tank' });
      await page.locator('main .held, main .note').waitFor();
    },
  }),
  move: ({ lot }) => on(`/lots/${lot('quarantine')}/do/move`),
  cut: ({ lot }) => on(`/lots/${lot('established')}/do/cut`),
  split: ({ lot }) => on(`/lots/${lot('quarantine')}/do/split`),
  lose: ({ lot }) => ({
    path: `/lots/${lot('quarantine')}/do/lose`,
    act: async (page) => {
      await page.getByLabel('How many').fill('two');
      await page.getByRole('button', { name: 'Record' }).click();
      await page.getByText('is not a number', { exact: false }).waitFor();
    },
  }),
  'a step': ({ lot }) => on(`/lots/${lot('quarantine')}/do/step`),
  clean: ({ place }) => on(`/places/${place('Bin 3')}/do/clean`),
  'a card': ({ place }) => on(`/places/${place('Bin 3')}/do/card`),
  'a residue trial': ({ place }) => on(`/places/${place('Frog tank')}/do/trial`),
  'a hold': ({ place }) => on(`/places/${place('Bin 3')}/do/hold`),
  'lift the hold': ({ place }) => on(`/places/${place('Bin 2')}/do/lift`),
  'live with a pest': ({ place }) => on(`/places/${place('Frog tank')}/do/tolerate`),
  'change a place': ({ place }) => on(`/places/${place('Frog tank')}/do/change`),
  'a new place': () => on('/new/place'),
  'a new source': () => on('/new/source'),
  'a new plant': () => on('/new/plant'),
  'a new bottle': () => on('/new/bottle'),
  history: () => '/history',
};
