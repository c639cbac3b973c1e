// The screens after a find, for the sweep of screens.test.mjs.
export const screens = {
  'something was found': () => '/found',
  'what could it be': () => '/found/what',
  'what could it be, answered': () => ({
    path: '/found/what',
    act: async (page) => {
      await page.locator('.asked button').first().click();
      await page.locator('.given li').first().waitFor();
    },
  }),
  'an animal': () => '/found/animal',
  'trace without a find': () => '/found/trace',
  'a pest traced': ({ lot }) => `/found/trace?of=${lot('quarantine')}&threat=citrus_mealybug`,
  'an outbreak': () => '/found/dae40480-d83f-462a-9d84-4717af78c653',
};
