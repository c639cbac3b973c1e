// Texts: which plants suit a place.
export const suits = {
  title: 'What suits {place}',
  plain: 'What suits here',
  link: 'Which plants suit it?',
  lead: 'Light, humidity, warmth, size and the animals, each by itself. Nothing is refused for it.',
  ask: 'Ask about a plant',
  field: 'Plant',
  submit: 'Would it suit?',
  all: 'Back to all that stand here',
  none: 'No plant stands here. Ask about one.',
  here: 'stands here',
  site: 'What is known of the place',
  tell: 'Change what is told of it',
  aspect: 'What of it',
  state: 'It says',
  why: 'What is known',
  table: 'Aspect by aspect',
};
