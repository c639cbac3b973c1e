// A room as it is after years: LOTS lots in BINS bins, EVENTS events in all and READINGS readings. What big-room.mjs makes,
// and then a look at every place about once a day for two years, and a logger in every tenth bin that tells its
// temperature and humidity every five minutes. The same numbers give the same room but for the day it ends on.
//
// usage: node bench/long-room.mjs DIR [LOTS] [BINS] [EVENTS] [READINGS]   (2000 200 200000 2000000 when left out)
//        writes DIR/events.jsonl and DIR/readings-NAME.csv, NAME with - for a space
import { writeFileSync, openSync, writeSync, closeSync } from 'node:fs';
import { join } from 'node:path';
import { bigRoom } from './big-room.mjs';

const DAY_MS = 86_400_000;
const LOOKED_DAYS = 698; // the places were told 700 days ago
const FIVE_MINUTES_MS = 300_000;

/** More looks at all boxes and enclosures, evenly over two years, until there are so many events. */
export function longRoom({ lots, bins, events: wanted, today = new Date() }) {
  const events = bigRoom({ lots, bins, today });
  const places = events.filter((one) => one.kind === 'place_set' && ['bin', 'enclosure'].includes(one.body.kind)).map((one) => one.body);
  const end = Date.parse(`${today.toISOString().slice(0, 10)}T07:00:00Z`) - DAY_MS;
  const missing = Math.max(wanted - events.length, 0);
  for (let k = 0; k < missing; k++) {
    const round = Math.floor(k / places.length);
    const rounds = Math.ceil(missing / places.length);
    const at = end - Math.floor((LOOKED_DAYS * DAY_MS * (rounds - round)) / rounds) + (k % places.length) * 60_000;
    events.push({
      id: `20000000-0000-4000-8000-${k.toString(16).padStart(12, '0')}`,
      kind: 'look_done',
      occurred_at: `${new Date(at).toISOString().slice(0, 19)}Z`,
      body: { place: places[k % places.length].place, effort: round % 7 === 0 ? 'careful' : 'glance', hands: 'cleaned' },
    });
  }
  events.sort((a, b) => (a.occurred_at < b.occurred_at ? -1 : a.occurred_at > b.occurred_at ? 1 : 0));
  return { events, loggers: places.filter((one, k) => one.kind === 'bin' && k % 10 === 0).map((one) => one.name) };
}

/** A logger's file of `count` lines, the last one yesterday evening. */
function writeReadings(path, count, phase, today) {
  const last = Date.parse(`${today.toISOString().slice(0, 10)}T20:00:00Z`) - DAY_MS;
  const file = openSync(path, 'w');
  let text = 'Timestamp,Temperature (°C),Relative humidity (%)\n';
  for (let i = 0; i < count; i++) {
    const at = new Date(last - (count - 1 - i) * FIVE_MINUTES_MS).toISOString().replace('T', ' ').slice(0, 19);
    text += `${at},${(22 + 3 * Math.sin((i + phase) / 46) + 0.1 * (i % 7)).toFixed(1)},${(80 + 10 * Math.cos(i / 46) + (i % 3)).toFixed(1)}\n`;
    if (text.length > 1 << 20) {
      writeSync(file, text);
      text = '';
    }
  }
  writeSync(file, text);
  closeSync(file);
}

const [dir, ...numbers] = process.argv.slice(2);
if (!dir || dir === '--help') {
  console.log('usage: node bench/long-room.mjs DIR [LOTS] [BINS] [EVENTS] [READINGS]');
} else {
  const [lots = 2000, bins = 200, wanted = 200_000, readings = 2_000_000] = numbers.map(Number);
  const today = new Date();
  const { events, loggers } = longRoom({ lots, bins, events: wanted, today });
  writeFileSync(join(dir, 'events.jsonl'), '');
  for (let k = 0; k < events.length; k += 10_000) {
    writeFileSync(join(dir, 'events.jsonl'), events.slice(k, k + 10_000).map((one) => `${JSON.stringify(one)}\n`).join(''), { flag: 'a' });
  }
  loggers.forEach((name, k) => {
    const count = Math.floor((readings * (k + 1)) / loggers.length) - Math.floor((readings * k) / loggers.length);
    writeReadings(join(dir, `readings-${name.replaceAll(' ', '-')}.csv`), count, k * 17, today);
  });
  console.log(`${events.length} events, ${loggers.length} loggers`);
}
