// A lot as one line of a list.
import type { LotBrief } from '../api';
import { paths } from '../router';
import { S, t, tn } from '../strings.en';
import { LotMark } from './marks';

/** `isAsked`: what the gate says of it is on its way, or there; the line keeps the place for it. */
export function LotLine({ lot, hasPlace, isAsked = false }: { lot: LotBrief; hasPlace: boolean; isAsked?: boolean }) {
  const facts = [tn(S.lot.plants, lot.count), lot.form_text];
  if (hasPlace && lot.place) facts.push(lot.place.name);
  return (
    <li class="line">
      <LotMark lot={lot} />
      <div>
        <a class="line-link" href={paths.lot(lot.code)}>{lot.name}</a>
        <p class="quiet">{facts.join(' · ')}</p>
        {lot.answer_text ? <p>{lot.answer_text}</p> : isAsked && <p class="awaited" aria-hidden="true">…</p>}
        {!lot.worst && isAsked && !lot.answer_text && <p class="quiet awaited" aria-hidden="true">…</p>}
        {lot.worst && <p class="quiet">{t(S.lots.worst, { pest: lot.worst.plural, chance: lot.worst.chance_text })}</p>}
      </div>
    </li>
  );
}
