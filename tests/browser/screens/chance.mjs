// One number opened, when to look, sources: for the sweep of screens.test.mjs.
export const screens = {
  chance: ({ lot }) => `/lots/${lot('quarantine')}/chances/fungus_gnat`,
  looks: ({ lot }) => `/lots/${lot('quarantine')}/looks`,
  sources: () => '/sources',
  source: () => `/sources/${encodeURIComponent('Corner garden shop')}`,
};
