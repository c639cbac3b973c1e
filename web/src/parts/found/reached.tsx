// Who else: the lots it could have got to, the likeliest first, and the places.
import type { components } from '../../../build/api';
import { day } from '../../format';
import { paths } from '../../router';
import { found as F } from '../../strings/found.en';
import { t, tn } from '../../strings.en';
import { Chain } from './chain';

type Trace = components['schemas']['Trace'];
type ReachedLot = components['schemas']['TraceReached'];

const SHOWN = 8;

function Line({ lot }: { lot: ReachedLot }) {
  const where = lot.is_outside ? F.outside : lot.is_lost ? F.lost : t(F.nowIn, { place: lot.place?.name ?? '' });
  const how = lot.is_where_found ? F.whereFound : lot.since_on ? t(F.since, { date: day(lot.since_on), how: lot.link_text ?? F.cameWith }) : '';
  return (
    <li>
      <p class="chance-line">
        <b><a href={paths.lot(lot.lot.code)}>{lot.lot.name}, {lot.lot.code}</a></b> <span>{lot.is_outside || lot.is_lost ? t(F.gotThereThen, { chance: lot.prob_text }) : lot.here_text}</span>
      </p>
      <p class={lot.is_outside ? 'found' : undefined}>{where}. {how}</p>
      {!lot.is_where_found && lot.chain.length > 0 && (
        <details>
          <summary>{F.way}</summary>
          <p class="quiet">{t(F.gotThere, { chance: lot.prob_text })}</p>
          <Chain contacts={lot.chain} />
        </details>
      )}
    </li>
  );
}

export function Reached({ trace }: { trace: Trace }) {
  const here = trace.reached.slice(0, SHOWN);
  const rest = trace.reached.slice(SHOWN);
  return (
    <section aria-labelledby="else">
      <h2 id="else">{F.else}</h2>
      {trace.reached.length === 0 ? <p>{F.elseNone}</p> : <p class="quiet">{F.elseText}</p>}
      <ol class="candidates">{here.map((lot) => <Line key={lot.lot.id} lot={lot} />)}</ol>
      {rest.length > 0 && (
        <details>
          <summary>{tn(F.elseMore, rest.length)}</summary>
          <ol class="candidates">{rest.map((lot) => <Line key={lot.lot.id} lot={lot} />)}</ol>
        </details>
      )}
    </section>
  );
}
