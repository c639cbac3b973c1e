// A QR code from its modules, row by row, as exact rectangles: black on white in every theme, with the quiet zone
// of four modules that the standard asks for (ISO/IEC 18004).
const QUIET = 4;

export function Qr({ rows, label }: { rows: readonly string[]; label: string }) {
  const side = rows.length + 2 * QUIET;
  const runs = rows.flatMap((row, y) =>
    [...row.matchAll(/1+/g)].map((run) => `M${run.index + QUIET} ${y + QUIET}h${run[0].length}v1h-${run[0].length}z`),
  );
  return (
    <svg class="qr" viewBox={`0 0 ${side} ${side}`} role="img" aria-label={label} shape-rendering="crispEdges">
      <rect width={side} height={side} fill="#fff" />
      <path d={runs.join('')} fill="#000" />
    </svg>
  );
}
