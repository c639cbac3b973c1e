// The events of a large room, as `fernlock record --together` takes them: LOTS lots in BINS bins and a tenth as many
// enclosures, over the last two years, invented. The same numbers give the same events but for the day they end on.
//
// usage: node bench/big-room.mjs [LOTS] [BINS] > events.jsonl   (2000 and 200 when left out)
import { pathToFileURL } from 'node:url';

const DAY_MS = 86_400_000;
const DAYS = 700; // how long the room has been kept
const FILL_DAYS = 45; // the bins' present fills are younger than this
const FORMS = ['potted', 'plug', 'bare_root', 'unrooted_cutting', 'tissue_culture', 'mounted', 'moss_clump'];
const USES = ['plants_only', 'reptile', 'invertebrate', 'amphibian', 'stock'];
const SOURCES = ['chain_store', 'nursery', 'market_stall', 'mail_order', 'trade', 'tissue_culture_lab'];
const PLANTS = [
  ['creeping fig', 'Ficus pumila'], ['nerve plant', 'Fittonia albivenis'], ['ripple peperomia', 'Peperomia caperata'],
  ['inch plant', 'Tradescantia zebrina'], ['guzmania', 'Guzmania'], ['snake fern'], ['jewel orchid'], ['small anthurium'],
  ['air plant'], ['string of turtles'], ['cushion moss'], ['button fern'], ['eyelash begonia'], ['shingle vine'],
];

/** Numbers from 0 to 1 that look random and are the same each time (a linear congruential generator; the constants
 *  are those of Numerical Recipes, second edition, 1992, chapter 7.1). */
function numbers(seed) {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

export function bigRoom({ lots = 2000, bins = 200, today = new Date() } = {}) {
  const next = numbers(20_260_307);
  const below = (n) => Math.floor(next() * n);
  const end = Date.parse(`${today.toISOString().slice(0, 10)}T08:00:00Z`) - DAY_MS;
  let count = 0;
  const id = () => `10000000-0000-4000-8000-${(++count).toString(16).padStart(12, '0')}`;
  const events = [];
  const tell = (kind, daysAgo, minutes, body) => {
    const at = new Date(end - daysAgo * DAY_MS + minutes * 60_000).toISOString();
    events.push({ id: id(), kind, occurred_at: `${at.slice(0, 19)}Z`, body });
    return body;
  };
  const things = (kind, key, list) => list.map((body) => tell(kind, DAYS, 0, { [key]: id(), ...body })[key]);

  const sources = things('source_set', 'source', Array.from({ length: 24 }, (_, k) => ({ name: `source ${k + 1}`, kind: SOURCES[k % SOURCES.length] })));
  const plants = things('plant_set', 'plant', Array.from({ length: 120 }, (_, k) => {
    const [name, taxon] = PLANTS[k % PLANTS.length];
    const row = Math.floor(k / PLANTS.length);
    return { name: row === 0 ? name : `${name}, form ${row + 1}`, ...(taxon && row === 0 ? { taxon } : {}), ...(k % 9 === 0 ? { is_mother: true } : {}) };
  }));
  const place = (body) => things('place_set', 'place', [body])[0];
  const bench = place({ name: 'the bench', kind: 'bench' });
  const boxes = Array.from({ length: bins }, (_, k) => place({ name: `bin ${k + 1}`, kind: 'bin', has_gasket: k % 10 > 0, set_temp_c: 19 + (k % 7), volume_l: 18, shelf: Math.floor(k / 8) + 1 }));
  const enclosures = Array.from({ length: Math.max(Math.round(bins / 10), 1) }, (_, k) => place({ name: `enclosure ${k + 1}`, kind: 'enclosure', uses: [USES[k % 4]] }));
  const outside = place({ name: 'given away', kind: 'outside' });

  /** A careful look; hands and tools are cleaned between bins nine times in ten. */
  const look = (daysAgo, box, more = {}) =>
    tell('look_done', daysAgo, 300, { place: box, effort: 'careful', hands: next() < 0.9 ? 'cleaned' : 'unsure', ...more });

  /** Lots of one purchase: home, cleaned the same evening, into a bin. */
  const purchase = (n, daysAgo, box) => {
    const arrival = id();
    const source = sources[below(sources.length)];
    const came = Array.from({ length: n }, () => tell('lot_arrived', daysAgo, below(5), {
      lot: id(), arrival, source, plant: plants[below(plants.length)], count: 1 + below(4), form: FORMS[below(FORMS.length)], use: USES[below(USES.length)], place: bench,
    }).lot);
    tell('step_done', daysAgo, 60, { steps: ['strip', 'rinse', 'drain'].map((step) => ({ lots: came, step })) });
    tell('lot_moved', daysAgo, 120, { lots: came, to: box });
    return came;
  };

  // What was bought earlier went through a bin, a place was cleaned after it, and it lives in an enclosure now; one in ten is given away.
  const inBins = Math.min(bins * 5, Math.round(lots / 2));
  let left = lots - inBins;
  while (left > 0) {
    const n = Math.min(left, 2 + below(7));
    const daysAgo = FILL_DAYS + 60 + below(DAYS - FILL_DAYS - 80);
    const box = boxes[below(bins)];
    const came = purchase(n, daysAgo, box);
    for (const week of [1, 2, 3, 4, 5]) look(daysAgo - 7 * week, box);
    for (const lot of came) tell('lot_released', daysAgo - 42, 200, { lot, to: next() < 0.1 ? outside : enclosures[below(enclosures.length)] });
    tell('place_cleaned', daysAgo - 42, 240, { place: box, agent: 'bleach' });
    left -= n;
  }
  // What stands in the bins now.
  for (const [k, box] of boxes.entries()) {
    const n = Math.floor(((k + 1) * inBins) / bins) - Math.floor((k * inBins) / bins);
    if (n === 0) continue;
    const daysAgo = 2 + below(FILL_DAYS - 2);
    const came = purchase(n, daysAgo, box);
    for (let day = daysAgo - 7; day > 0; day -= 7) {
      const hasFind = k % 40 === 7 && day < 8;
      look(day, box, hasFind ? { findings: [{ finding: id(), lot: came[0], threat: 'western_flower_thrips', stage: 'adult', count: 2 }] } : {});
    }
  }
  return events.sort((a, b) => (a.occurred_at < b.occurred_at ? -1 : a.occurred_at > b.occurred_at ? 1 : 0));
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const [lots = 2000, bins = 200] = process.argv.slice(2).map(Number);
  for (const event of bigRoom({ lots, bins })) process.stdout.write(`${JSON.stringify(event)}\n`);
}
