// A lot as one line of a list.
import type { LotBrief } from '../api';
import { paths } from '../router';
import { S, t, tn } from '../strings.en';
import { LotMark } from './marks';

export function LotLine({ lot, hasPlace }: { lot: LotBrief; hasPlace: boolean }) {
  const facts = [tn(S.lot.plants, lot.count), lot.form_text];
  if (hasPlace && lot.place) facts.push(lot.place.name);
  return (
    <li class="line">
      <LotMark lot={lot} />
      <div>
        <a class="line-link" href={paths.lot(lot.code)}>{lot.name}</a>
        <p class="quiet">{facts.join(' · ')}</p>
        {lot.answer_text && <p>{lot.answer_text}</p>}
        {lot.worst && <p class="quiet">{t(S.lots.worst, { pest: lot.worst.plural, chance: lot.worst.chance_text })}</p>}
      </div>
    </li>
  );
}
