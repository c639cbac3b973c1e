// Texts: the list of places.
export const places = {
  title: 'Places',
  kicker: { one: '{n} place', other: '{n} places' },
  empty: 'There are no places yet.',
  emptyText: 'A place is a bench, a bin, a jar, an open spot or an enclosure. Add the first under Record.',
  group: { shelves: 'Bins and jars', bench: 'Benches', open_spot: 'Open spots', enclosure: 'Enclosures', outside: 'Outside' },
  shelf: 'Shelf {n}',
  noShelf: 'Not on a shelf',
  lots: { one: '{n} lot', other: '{n} lots' },
  noLots: 'empty',
  clean: 'clean and empty',
  notClean: 'empty, not cleaned since',
  held: 'on hold',
  opens: 'opens {when}',
  opensNot: 'does not open by waiting',
  looked: 'looked at {when}',
  neverLooked: 'not looked at yet',
} as const;
