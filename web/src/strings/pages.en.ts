// Texts: the page that leads to all others, and the names of the areas.
export const pages = {
  title: 'All pages',
  lead: 'Everything the program can do, by what you want.',
  groups: { day: 'The day', record: 'Tell what happened', plants: 'Plants and places', answers: 'Ask', room: 'The room' },
  today: { name: 'Today', about: 'What is due, in five lines or fewer.' },
  lots: { name: 'Lots', about: 'All plants, by where they are on their way.' },
  places: { name: 'Places', about: 'Bins and jars on their shelves, benches, enclosures.' },
  climate: { name: 'Light and air', about: 'Which bin is dark, dry, too warm; charts; a logger’s file.' },
  builds: { name: 'Builds', about: 'Planned enclosures: what to use, cut or buy by when.' },
  collection: { name: 'The collection', about: 'By plant: quiet enough for what, mothers, cuttings.' },
  moving: { name: 'Moving in', about: 'What has been here for years, as one pasted list.' },
  found: { name: 'Something was found', about: 'First five lines, then tell it; and all that was found so far.' },
  animal: { name: 'An animal is ill', about: 'Ill, dead or tested: your vet, and the trace both ways.' },
  what: { name: 'What could it be?', about: 'From what you can see to a ranking, with drawings.' },
  trace: { name: 'Trace without a find', about: 'Where a pest could have come from and gone; who carries a pesticide.' },
  sink: { name: 'At the sink', about: 'Tonight, one action at a time: order, recipe, timers, alarms.' },
  unsent: { name: 'Not yet sent', about: 'What this browser recorded and the server has not taken yet.' },
} as const;
