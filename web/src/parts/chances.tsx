// What could still be on a lot: the likeliest pests with their strips, the rest folded away, and apart from
// them what no look reaches.
import type { Lot, LotChance } from '../api';
import { paths } from '../router';
import { S, tn } from '../strings.en';
import { Scale, Strip } from './strip';

const SHOWN = 4;

function Chance({ chance, code }: { chance: LotChance; code: string }) {
  return (
    <li>
      <p class="chance-line">
        <b>{chance.plural}</b>
        <span>
          {chance.chance_text}
          <span class="quiet"> · {chance.in_100_text}{chance.band_text && ` · ${chance.band_text}`}</span>
        </span>
      </p>
      <Strip chance={chance} />
      <details>
        <summary>{S.lot.why}<span class="hidden">: {chance.plural}</span></summary>
        <dl class="facts">
          <dt>{S.lot.whyCame}</dt>
          {chance.reasons.map((reason, k) => (
            <dd key={k}>{reason.text}</dd>
          ))}
          <dt>{S.lot.lookWhere}</dt>
          <dd>{chance.look_where}</dd>
          <dt>{S.lot.harm}</dt>
          <dd>{chance.harm}</dd>
        </dl>
        <p><a class="button" href={`${paths.lot(code)}/chances/${chance.threat}`}>{S.lot.opened}<span class="hidden">: {chance.plural}</span></a></p>
        <p class="quiet"><i>{chance.latin}</i>. {S.lot.grade[chance.grade]}</p>
      </details>
    </li>
  );
}

function List({ chances, code }: { chances: LotChance[]; code: string }) {
  return (
    <ul class="chances">
      {chances.map((chance) => (
        <Chance key={chance.threat} chance={chance} code={code} />
      ))}
    </ul>
  );
}

export function Chances({ lot }: { lot: Lot }) {
  const counted = lot.chances.filter((chance) => !chance.is_out_of_reach);
  const beyond = lot.chances.filter((chance) => chance.is_out_of_reach);
  const rest = counted.slice(SHOWN);
  return (
    <section aria-labelledby="chances">
      <h2 id="chances">{S.lot.chances}</h2>
      {counted.length === 0 && <p class="quiet">{S.lot.chancesNone}</p>}
      {counted.length > 0 && (
        <>
          <List chances={counted.slice(0, SHOWN)} code={lot.code} />
          <Scale />
        </>
      )}
      {rest.length > 0 && (
        <details>
          <summary>{tn(S.lot.chancesRest, rest.length)}</summary>
          <List chances={rest} code={lot.code} />
          <Scale />
        </details>
      )}
      {beyond.length > 0 && (
        <>
          <h3>{S.lot.outOfReach}</h3>
          <p class="quiet">{S.lot.outOfReachText}</p>
          <ul class="plain">
            {beyond.map((chance) => (
              <li key={chance.threat}>{chance.plural}: {chance.look_where}</li>
            ))}
          </ul>
        </>
      )}
    </section>
  );
}
