// A bath in anything: what to measure, what it was seen to do, which plants it harms, what it is never mixed with.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, settle, type Schemas } from '../api';
import { CheckField, ChoiceField, Form, NumberField, readNumber, SelectField, TextField, type Problems } from '../parts/form';
import { DoorBarred } from '../parts/marks';
import { Heading, Shown } from '../parts/screen';
import { dips as D } from '../strings/dips.en';
import { t } from '../strings.en';

type Dip = Schemas['Dip'];
type Test = Schemas['DipTest'];
type Agent = keyof typeof D.agents;

const FIELDS = ['target', 'minutes', 'total_ml', 'label_pct', 'stock_g_per_l', 'hot_c', 'cold_c'] as const;
type Field = (typeof FIELDS)[number];

/** What each agent asks for. */
const ASKS: Record<Agent, readonly Field[]> = {
  none: [],
  bleach: ['target', 'minutes'],
  permanganate: ['target', 'minutes', 'total_ml', 'stock_g_per_l'],
  peroxide: ['target', 'minutes', 'total_ml', 'label_pct'],
  soap: ['target', 'minutes', 'total_ml', 'label_pct'],
  hot_water: ['target', 'minutes', 'total_ml', 'hot_c', 'cold_c'],
};

const named = (list: Record<string, string>, word: string): string => list[word] ?? word;

function Tests({ list }: { list: Test[] }) {
  return (
    <ul class="lines bare">
      {list.map((one) => (
        <li key={`${one.organism} ${one.tested_at} ${one.tested_minutes}`} class="line">
          <div>
            <b>{one.name}</b> <span class="state">{D.outcomes[one.outcome]}</span>
            <p>
              {t(one.tested_minutes === null ? D.pointAny : D.point, { conc: `${one.tested_at ?? ''}`, unit: named(D.units, one.tested_unit), minutes: `${one.tested_minutes ?? ''}` })}
              {`; ${named(D.settings, one.setting)}${one.note && `. ${one.note}`}`}
            </p>
            <p class="quiet">{t(D.source, { source: one.source_text })}</p>
          </div>
        </li>
      ))}
    </ul>
  );
}

function Measure({ dip }: { dip: Dip }) {
  const ml = (text: string, value: number | null | undefined) => (value === undefined || value === null ? [] : [t(text, { ml: `${Math.round(value * 10) / 10}`, mg: `${Math.round(value * 10) / 10}` })]);
  const lines = [
    ...ml(D.crystals, dip.stock_ml === undefined || dip.stock_ml === null ? dip.crystals_mg : null), ...ml(D.stockOf, dip.stock_ml),
    ...ml(D.product, dip.product_ml), ...ml(D.water, dip.water_ml), ...ml(D.hotOf, dip.hot_ml), ...ml(D.coldOf, dip.cold_ml),
  ];
  if (dip.agent === 'none') return null;
  if (lines.length === 0) return <p>{dip.agent === 'bleach' ? D.bleachElsewhere : D.nothingToMeasure}</p>;
  return <><h3>{D.measure}</h3><ul class="dots">{lines.map((text) => <li key={text}>{text}</li>)}</ul></>;
}

function Worked({ dip }: { dip: Dip }) {
  const seen = dip.effects.filter(({ outcome }) => outcome !== 'untested');
  return (
    <div role="status">
      <Measure dip={dip} />
      <h3>{D.here}</h3>
      {seen.length === 0 ? <p>{D.hereNone}</p> : <Tests list={seen} />}
      {dip.plant_risk_why && <p>{t(D.risk, { risk: D.risks[dip.plant_risk], why: dip.plant_risk_why })}</p>}
    </div>
  );
}

function Mix({ agent }: { agent: Agent }) {
  const [typed, setTyped] = useState<Partial<Record<Field, string>>>({});
  const [plant, setPlant] = useState('');
  const [other, setOther] = useState<keyof typeof D.others | 'nothing'>('nothing');
  const [hasAnimals, setAnimals] = useState(false);
  const [problems, setProblems] = useState<Problems>({});
  const [worked, setWorked] = useState<Dip>();
  const [refused, setRefused] = useState('');
  const names = useAnswer('names', () => client.GET('/api/v1/names'));
  const changing = <V,>(set: (value: V) => void) => (value: V) => { // what was worked out is of what stood there before
    set(value);
    setWorked(undefined);
    setRefused('');
  };
  const labels: Record<Field, [string, string]> = {
    target: [D.target[agent], D.unit[agent]], minutes: [D.minutes, D.min], total_ml: [D.total, 'ml'], label_pct: [D.label, '%'],
    stock_g_per_l: [D.stock, 'g/L'], hot_c: [D.hot, '°C'], cold_c: [D.cold, '°C'],
  };
  const submit = async () => {
    const found: Record<string, string> = {};
    const query: Record<string, unknown> = { agent, ...(plant.trim() ? { plant: plant.trim() } : {}), ...(other !== 'nothing' ? { with: other } : {}), ...(hasAnimals ? { animals_in: true } : {}) };
    for (const field of ASKS[agent]) {
      const read = readNumber(typed[field] ?? '', { least: 0.001, most: 1_000_000 });
      if (read.problem) found[field] = read.problem;
      if (read.value !== undefined) query[field] = read.value;
    }
    setProblems(found);
    if (Object.keys(found).length > 0) return found;
    const answer = await settle(client.GET('/api/v1/dip', { params: { query } }));
    setWorked('data' in answer ? answer.data : undefined);
    setRefused('data' in answer ? '' : answer.trouble.detail || answer.trouble.title);
    return undefined;
  };
  const others = (Object.keys(D.others) as (keyof typeof D.others)[]).filter((word) => word !== agent);
  return (
    <section aria-labelledby="mix">
      <h2 id="mix">{D.mix}</h2>
      <Form submit={D.ask} onSubmit={submit}>
        {ASKS[agent].map((field) => (
          <NumberField key={field} label={labels[field][0]} unit={labels[field][1]} isOptional problem={problems[field]}
            value={typed[field] ?? ''} onValue={changing((value: string) => setTyped({ ...typed, [field]: value }))} />
        ))}
        <TextField label={D.plant} isOptional value={plant} onValue={changing(setPlant)} suggestions={(names.data?.known_plants ?? []).map((one) => one.botanical_name)} />
        <SelectField label={D.withOther} value={other} onValue={changing(setOther)}
          options={[{ value: 'nothing' as const, label: D.nothing }, ...others.map((value) => ({ value, label: D.others[value] }))]} />
        <CheckField label={D.animals} isChecked={hasAnimals} onChecked={changing(setAnimals)} />
      </Form>
      {refused && <p class="answer" role="alert"><DoorBarred /><span>{D.never} {refused}</span></p>}
      {worked && <Worked dip={worked} />}
    </section>
  );
}

function Known({ dip }: { dip: Dip }) {
  return (
    <>
      <section aria-labelledby="tested">
        <h2 id="tested">{D.tested}</h2>
        {dip.tested.length === 0 ? <p>{D.testedNone}</p> : <><p class="quiet">{D.testedLead}</p><Tests list={dip.tested} /></>}
      </section>
      {dip.tried_uses.length > 0 && (
        <section aria-labelledby="uses">
          <h2 id="uses">{D.uses}</h2>
          {dip.tried_uses.map((use) => (
            <p key={`${use.name} ${use.conc_low} ${use.minutes_low}`}>
              <b>{use.name}.</b> {use.good_for && t(D.good, { text: use.good_for })} {use.not_good_for && t(D.notGood, { text: use.not_good_for })} {use.after && t(D.after, { text: use.after })}
            </p>
          ))}
        </section>
      )}
      <section aria-labelledby="harms">
        <h2 id="harms">{D.harms}</h2>
        <dl class="facts">
          {dip.harms.map((one) => [<dt key={`${one.plants}t`}>{named(D.kinds, one.plants)}</dt>, <dd key={`${one.plants}d`}>{D.risks[one.risk]}{one.why && `: ${one.why}`}</dd>])}
        </dl>
      </section>
      {dip.never_with.length > 0 && (
        <section aria-labelledby="never">
          <h2 id="never">{D.neverWith}</h2>
          <ul class="dots">{dip.never_with.map((one) => <li key={one.with}><b>{named(D.others, one.with)}</b>: {one.text}</li>)}</ul>
        </section>
      )}
      {dip.cautions.length > 0 && (
        <section aria-labelledby="care">
          <h2 id="care">{D.cautions}</h2>
          <ul class="dots">{dip.cautions.map((text) => <li key={text}>{text}</li>)}</ul>
          <p>{D.help}</p>
        </section>
      )}
    </>
  );
}

export default function DipsScreen() {
  const [agent, setAgent] = useState<Agent>('permanganate');
  const answer = useAnswer(`dip ${agent}`, () => client.GET('/api/v1/dip', { params: { query: { agent } } }));
  return (
    <Shown answer={answer} title={D.title}>
      {(dip) => (
        <>
          <div class="head"><Heading title={D.title}>{D.title}</Heading><p class="lead">{D.lead}</p></div>
          <ChoiceField label={D.which} value={agent} onValue={setAgent}
            options={(Object.keys(D.agents) as Agent[]).map((value) => ({ value, label: D.agents[value] }))} />
          <div class="two">
            <div><Mix key={agent} agent={agent} /></div>
            <div><Known dip={dip} /></div>
          </div>
        </>
      )}
    </Shown>
  );
}
