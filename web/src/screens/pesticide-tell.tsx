// A treatment with a pesticide is written down, with what a grower's record asks for.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type LotBrief, type Schemas } from '../api';
import { ChoiceField, Form, NumberField, readNumber, SelectField, TextField, WhenField, type Problems } from '../parts/form';
import { Back, LotTicks, useLots } from '../parts/pick';
import { Heading, Shown } from '../parts/screen';
import { useRecord } from '../record/use';
import { go } from '../router';
import type { ScreenProps } from '../screens';
import { pesticides as P } from '../strings/pesticides.en';
import { t, tn } from '../strings.en';

const F = P.form;
const AMOUNTS = [{ value: 'amount_ml', label: 'mL' }, { value: 'amount_g', label: 'g' }];
const RATES = [
  { value: 'rate_ml_per_l', label: 'mL/L' }, { value: 'rate_g_per_l', label: 'g/L' },
  { value: 'rate_ml_per_m2', label: 'mL/m²' }, { value: 'rate_g_per_m2', label: 'g/m²' },
];
const NUMBERS = ['amount', 'rate', 'area_m2', 'space_m3', 'units', 'reentry_h', 'harvest_d'] as const;
const EMPTY = {
  product: '', brand: '', registration: '', amount: '', rate: '', area_m2: '', space_m3: '', units: '', eppo_code: '', growth_stage: '', site: '',
  operator_name: '', operator_number: '', reason: '', reentry_h: '', harvest_d: '',
};
type Member = keyof typeof EMPTY;

type Last = Schemas['PesticideEntry'] | undefined;

function Tell({ lots, first, last }: { lots: LotBrief[]; first: string[]; last: Last }) {
  const { record } = useRecord();
  const [chosen, setChosen] = useState(first);
  const [how, setHow] = useState<keyof typeof F.hows>('soak');
  const [told, setTold] = useState({
    ...EMPTY, // who and where are mostly the same as the last time
    site: last?.site ?? '', operator_name: last?.operator_name ?? '', operator_number: last?.operator_number ?? '',
  });
  const [amountUnit, setAmountUnit] = useState('amount_ml');
  const [rateUnit, setRateUnit] = useState('rate_ml_per_l');
  const [when, setWhen] = useState('');
  const [problems, setProblems] = useState<Problems>({});
  const held = lots.filter((lot) => chosen.includes(lot.id)).reduce((n, lot) => n + lot.count, 0);

  const text = (member: Member, label: string, hint?: string) => (
    <TextField label={label} isOptional={member !== 'product'} hint={hint} problem={problems[member]} value={told[member]} onValue={(value) => setTold({ ...told, [member]: value })} />
  );
  const number = (member: (typeof NUMBERS)[number], label: string, unit: string, hint?: string) => (
    <NumberField label={label} unit={unit} hint={hint} isOptional isWhole={member === 'units'} problem={problems[member]} value={told[member]} onValue={(value) => setTold({ ...told, [member]: value })} />
  );

  async function submit() {
    const read = Object.fromEntries(NUMBERS.map((member) => [member, readNumber(told[member], { least: 1e-9, most: 1e6, isWhole: member === 'units' })])) as Record<
      (typeof NUMBERS)[number], ReturnType<typeof readNumber>
    >;
    const found: Problems = {
      lots: chosen.length ? undefined : F.lotsMissing,
      product: told.product.trim() ? undefined : F.activeMissing,
      ...Object.fromEntries(NUMBERS.map((member) => [member, read[member].problem])),
    };
    setProblems(found);
    if (Object.values(found).some(Boolean)) return found;
    const { amount, rate, ...rest } = read;
    const texts = Object.fromEntries((Object.keys(EMPTY) as Member[]).filter((member) => !(NUMBERS as readonly string[]).includes(member) && told[member].trim()).map((member) => [member, told[member].trim()]));
    const step = Object.fromEntries(Object.entries({
      ...texts,
      lots: chosen, step: how, agent: 'pesticide',
      ...Object.fromEntries(Object.entries(rest).map(([member, one]) => [member, one.value])),
      units: rest.units.value ?? (held || undefined),
      [amountUnit]: amount.value, [rateUnit]: rate.value,
    }).filter(([, value]) => value !== undefined));
    await record(t(F.told, { what: told.brand.trim() || told.product.trim(), n: tn(F.lotsN, chosen.length) }), [
      { kind: 'step_done', ...(when ? { occurredAt: when } : {}), body: { steps: [step] } },
    ]);
    go('/pesticides');
    return undefined;
  }

  return (
    <Form submit={F.submit} onSubmit={submit}>
      <LotTicks lots={lots} chosen={chosen} onChosen={setChosen} legend={F.lots} problem={problems['lots']} />
      {text('product', F.active, F.activeHint)}
      <ChoiceField label={F.how} value={how} onValue={setHow} options={Object.entries(F.hows).map(([value, label]) => ({ value: value as keyof typeof F.hows, label }))} />
      <WhenField value={when} onValue={setWhen} />
      <h2>{F.product}</h2>
      {text('brand', F.brand)}
      {text('registration', F.registration)}
      <h2>{F.much}</h2>
      {number('amount', F.amount, AMOUNTS.find((one) => one.value === amountUnit)?.label ?? '')}
      <SelectField label={F.amountUnit} value={amountUnit} options={AMOUNTS} onValue={setAmountUnit} />
      {number('rate', F.rate, RATES.find((one) => one.value === rateUnit)?.label ?? '')}
      <SelectField label={F.rateUnit} value={rateUnit} options={RATES} onValue={setRateUnit} />
      {number('area_m2', F.area, 'm²')}
      {number('space_m3', F.space, 'm³')}
      {number('units', F.units, '', F.unitsHint)}
      <h2>{F.crop}</h2>
      {text('eppo_code', F.eppo)}
      {text('growth_stage', F.stage, F.stageHint)}
      {text('site', F.site, F.siteHint)}
      <h2>{F.who}</h2>
      {text('operator_name', F.operator)}
      {text('operator_number', F.number)}
      {text('reason', F.reason)}
      <h2>{F.label}</h2>
      {number('reentry_h', F.reentry, F.hours)}
      {number('harvest_d', F.harvest, F.days)}
    </Form>
  );
}

export default function PesticideTellScreen({ query }: ScreenProps) {
  const lots = useLots();
  const kept = useAnswer('pesticides  ', () => client.GET('/api/v1/pesticides'));
  const named = query.get('lots')?.split(',') ?? [];
  return (
    <Shown answer={lots} title={F.title}>
      {(data) => {
        const here = data.lots.filter((lot) => lot.count > 0);
        const first = here.filter((lot) => named.includes(lot.code) || named.includes(lot.id)).map((lot) => lot.id);
        return (
          <div class="column">
            <Back to="/pesticides">{P.title}</Back>
            <div class="head">
              <Heading title={F.title}>{F.title}</Heading>
              <p class="lead">{F.lead}</p>
              <p class="note">{F.caution}</p>
            </div>
            {kept.data && <Tell lots={here} first={first} last={kept.data.entries[kept.data.entries.length - 1]} />}
          </div>
        );
      }}
    </Shown>
  );
}
