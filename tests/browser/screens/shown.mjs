// The screens that show the record, for the sweep of screens.test.mjs.
export const screens = {
  today: () => '/',
  lots: () => '/lots',
  'lot at the sink': ({ lot }) => `/lots/${lot('arrived')}`,
  'lot in quarantine': ({ lot }) => `/lots/${lot('quarantine')}`,
  'lot on hold': ({ lot }) => `/lots/${lot('held')}`,
  'lot established': ({ lot }) => `/lots/${lot('established')}`,
  gate: ({ lot }) => `/lots/${lot('quarantine')}/gate/amphibian`,
  'gate, barred': ({ lot }) => `/lots/${lot('held')}/gate/stock`,
  places: () => '/places',
  'bin on hold': ({ place }) => `/places/${place('Bin 2')}`,
  jar: ({ place }) => `/places/${place('Jar 1')}`,
  enclosure: ({ place }) => `/places/${place('Frog tank')}`,
};
