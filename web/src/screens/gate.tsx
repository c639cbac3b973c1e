// The gate for one lot and one use: the answer, both dates, each condition, how it goes on.
import { useAnswer } from '../answer';
import { client, type Condition, type Gate, type Use } from '../api';
import { day, percent } from '../format';
import { Forecast } from '../parts/forecast';
import { DoorBarred, DoorOpen, DoorShut } from '../parts/marks';
import { Heading, Shown } from '../parts/screen';
import { Scale, Strip } from '../parts/strip';
import { paths } from '../router';
import type { ScreenProps } from '../screens';
import { S, t } from '../strings.en';

const USES = Object.keys(S.gate.useNames) as Use[];

function UseChoice({ code, chosen }: { code: string; chosen: readonly Use[] }) {
  return (
    <nav class="uses" aria-label={S.gate.uses}>
      <ul>
        {USES.map((use) => (
          <li key={use}>
            <a href={paths.gate(code, use)} aria-current={chosen.includes(use) ? 'true' : undefined}>{S.gate.useNames[use]}</a>
          </li>
        ))}
      </ul>
    </nav>
  );
}

function Dates({ gate }: { gate: Gate }) {
  const shown = (on: string | null, text: string) => (on ? `${day(on)}, ${text}` : text);
  if (gate.is_open) return null;
  return (
    <dl class="facts pairs">
      <dt>{S.gate.quick}</dt>
      <dd>{shown(gate.quick_on, gate.quick_text)}</dd>
      <dt>{S.gate.slow}</dt>
      <dd>{shown(gate.earliest_on, gate.earliest_text)}</dd>
    </dl>
  );
}

function Conditions({ list }: { list: Condition[] }) {
  return (
    <ul class="lines">
      {list.map((condition) => (
        <li key={condition.kind} class="line">
          {condition.is_met ? <DoorOpen /> : condition.earliest_on ? <DoorShut /> : <DoorBarred />}
          <div>
            <b>{condition.asks.charAt(0).toUpperCase() + condition.asks.slice(1)}</b>
            <span class="state">{condition.earliest_text}</span>
            <p>{condition.text}</p>
          </div>
        </li>
      ))}
    </ul>
  );
}

function ThreatTable({ gate }: { gate: Gate }) {
  const head = S.gate.table;
  return (
    <details>
      <summary>{S.gate.all}</summary>
      <div class="table-box" tabIndex={0} role="region" aria-label={S.gate.all}>
        <table>
          <thead>
            <tr>
              {[head.threat, head.chance, head.in100, head.band, head.weight].map((name) => <th key={name} scope="col">{name}</th>)}
            </tr>
          </thead>
          <tbody>
            {gate.threats.filter((threat) => !threat.is_out_of_reach).map((threat) => (
              <tr key={threat.threat}>
                <th scope="row">{threat.plural}</th>
                <td>{threat.chance_text}</td>
                <td>{threat.in_100_text}</td>
                <td>{threat.band_text ?? ''}</td>
                <td>{percent(threat.weight)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </details>
  );
}

function Whole({ gate }: { gate: Gate }) {
  const missing = gate.conditions.filter((condition) => !condition.is_met);
  const met = gate.conditions.filter((condition) => condition.is_met);
  const isStock = gate.uses.length === 1 && gate.uses[0] === 'stock';
  const title = t(isStock ? S.gate.titleOpen : S.gate.title, { lot: gate.lot.name, uses: gate.uses_text });
  const isHeld = missing.some((condition) => condition.kind === 'hold');
  return (
    <>
      <div class="head">
        <p class="kicker"><a href={paths.lot(gate.lot.code)}>{gate.lot.name}, {gate.lot.code}</a></p>
        <Heading title={title}>{title}</Heading>
        <UseChoice code={gate.lot.code} chosen={gate.uses} />
      </div>
      <div class="two">
        <div>
          <p class="answer">{gate.is_open ? <DoorOpen /> : isHeld ? <DoorBarred /> : <DoorShut />}<span>{gate.answer_text}</span></p>
          <Dates gate={gate} />
          {gate.examine_text && <p>{gate.examine_text}</p>}
          <p class="quiet">{gate.looks_text}</p>
          <section aria-labelledby="missing">
            <h2 id="missing">{S.gate.missing}</h2>
            {missing.length === 0 ? <p>{S.gate.missingNone}</p> : <Conditions list={missing} />}
          </section>
          <section aria-labelledby="met">
            <h2 id="met">{S.gate.met}</h2>
            <Conditions list={met} />
          </section>
        </div>
        <div>
          <section aria-labelledby="worst">
            <h2 id="worst">{S.gate.worst}</h2>
            <p>{gate.worst_text.charAt(0).toUpperCase() + gate.worst_text.slice(1)}.</p>
            {gate.worst && (<><Strip chance={gate.worst} /><Scale /></>)}
            <ThreatTable gate={gate} />
          </section>
          <Forecast gate={gate} />
          <p class="quiet">{gate.pace_text}</p>
          <p class="quiet">{S.gate.promise}</p>
        </div>
      </div>
    </>
  );
}

export default function GateScreen({ params: { id = '', use = '' } }: ScreenProps) {
  const query = use ? { use } : {};
  const answer = useAnswer(`gate ${id} ${use}`, () =>
    client.GET('/api/v1/lots/{id}/gate', { params: { path: { id }, query } }),
  );
  return (
    <Shown answer={answer} title={S.lot.gate}>
      {(gate) => <Whole key={gate.uses_text} gate={gate} />}
    </Shown>
  );
}
