// Light over a shelf: cells of one hue, brighter for more lux, with numbers on them; outlines of the bins; the
// same as a table.
import type { components } from '../../build/api';
import { climate as C } from '../strings/climate.en';
import { t } from '../strings.en';

type Shelf = components['schemas']['Climate']['shelves'][number];

const SPOTS_ALONG = 6;
const SPOTS_ACROSS = 2;
const LEVELS = 8;

const rounded = (lux: number) => (lux >= 1000 ? `${(lux / 1000).toFixed(1)}k` : String(Math.round(lux / 10) * 10));

export function ShelfMap({ shelf, id }: { shelf: Shelf; id: string }) {
  const { grid } = shelf;
  const rows = grid.rows_lux;
  const nAcross = rows.length;
  const nAlong = rows[0]?.length ?? 0;
  const from = { along: grid.from_along_mm ?? 0, across: grid.from_across_mm ?? 0 };
  const wide = (grid.to_along_mm ?? 0) - from.along;
  const high = (grid.to_across_mm ?? 0) - from.across;
  const cell = { w: wide / nAlong, h: high / nAcross };
  const level = (lux: number) => Math.ceil((lux / Math.max(grid.most_lux, 1)) * LEVELS) / LEVELS;
  const spots = Array.from({ length: SPOTS_ALONG * SPOTS_ACROSS }, (_, k) => {
    const along = (((k % SPOTS_ALONG) + 0.5) / SPOTS_ALONG) * wide;
    const across = ((Math.floor(k / SPOTS_ALONG) + 0.5) / SPOTS_ACROSS) * high;
    const c = Math.min(Math.floor(along / cell.w), nAlong - 1);
    const r = Math.max(Math.round(across / cell.h), 1); // between two cells: their mean
    return { along, across, lux: ((rows[r - 1]?.[c] ?? 0) + (rows[Math.min(r, nAcross - 1)]?.[c] ?? 0)) / 2 };
  });
  const title = shelf.shelf === null ? C.mapNoShelf : t(C.map, { n: shelf.shelf });
  const said = t(C.mapSentence, {
    most: grid.most_lux,
    places: shelf.places.map((place) => t(C.mapPlace, { name: place.place.name, dli: (place.dli_mol_m2_d ?? 0).toFixed(1) })).join(' '),
  });
  const columns = Array.from({ length: 8 }, (_, k) => Math.min(Math.floor(((k + 0.5) / 8) * nAlong), nAlong - 1));
  return (
    <section aria-labelledby={id}>
      <h2 id={id}>{title}</h2>
      <p class="quiet">{shelf.text}</p>
      <figure>
        <svg class="shelf-map" viewBox={`0 0 ${wide} ${high}`} role="img" aria-label={`${title}. ${said}`}>
          {rows.map((row, r) => row.map((lux, c) => (
            <rect key={`${r}.${c}`} class="cell" x={c * cell.w} y={r * cell.h} width={cell.w + 1} height={cell.h + 1} fill-opacity={0.12 + 0.88 * level(lux)} />
          )))}
          {shelf.places.map(({ place, along_mm: along, across_mm: across, length_mm: length, width_mm: width }) => {
            const box = { x: (along ?? 0) - from.along - (length ?? 0) / 2, y: (across ?? 0) - from.across - (width ?? 0) / 2, width: length ?? 0, height: width ?? 0 };
            return (
              <g key={place.id}>
                <rect class="bin-halo" {...box} /><rect class="bin" {...box} />
                <text class="name" x={box.x + box.width / 2} y={box.y + box.height / 2 + 12}>{place.name.length > 14 ? place.name.split(',')[0] : place.name}</text>
              </g>
            );
          })}
          {spots.map((spot) => <text key={`${spot.along}.${spot.across}`} class="spot" x={spot.along} y={spot.across + 12}>{rounded(spot.lux)}</text>)}
        </svg>
        <figcaption>{said}</figcaption>
      </figure>
      <details>
        <summary>{C.mapTable}</summary>
        <div class="table-scroll" tabIndex={0} role="group" aria-label={title}>
          <table>
            <thead>
              <tr><td />{columns.map((c) => <th key={c} class="n" scope="col">{t(C.mapAlong, { n: Math.round((from.along + (c + 0.5) * cell.w) / 10) })}</th>)}</tr>
            </thead>
            <tbody>
              {rows.filter((_, r) => r % 2 === 0).map((row, r) => (
                <tr key={r}>
                  <th scope="row">{t(C.mapAcross, { n: Math.round((from.across + (2 * r + 0.5) * cell.h) / 10) })}</th>
                  {columns.map((c) => <td key={c} class="n">{row[c]}</td>)}
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      </details>
    </section>
  );
}
