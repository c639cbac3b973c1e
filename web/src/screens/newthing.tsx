// Names: a new place, source, plant or bottle; sources and plants that are known can be changed here.
import { useState } from 'preact/hooks';
import type { components } from '../../build/api';
import { CheckField, Form, NumberField, readNumber, SelectField, TextField, type Problems } from '../parts/form';
import { useNames } from '../parts/pick';
import { PlaceForm } from '../parts/placeform';
import { Heading, Shown } from '../parts/screen';
import { day } from '../format';
import { newId } from '../record/event';
import { useRecord } from '../record/use';
import { go } from '../router';
import type { ScreenProps } from '../screens';
import { NotFound } from './notfound';
import { tell as T } from '../strings/tell.en';
import { triage as D } from '../strings/triage.en';
import { t } from '../strings.en';

type Names = components['schemas']['Names'];
interface Part { names: Names; id: string }

function Known({ title, list, to }: { title: string; list: { id: string; name: string }[]; to: string }) {
  if (list.length === 0) return null;
  return (
    <section aria-labelledby="known">
      <h2 id="known">{title}</h2>
      <ul class="lines bare">
        {list.map((one) => <li key={one.id} class="line"><div><a class="line-link" href={`${to}/${one.id}`}>{one.name}</a></div></li>)}
      </ul>
    </section>
  );
}

function Source({ names, id }: Part) {
  const N = T.newSource;
  const { record } = useRecord();
  const old = names.sources.find((one) => one.id === id);
  const [name, setName] = useState(old?.name ?? '');
  const [kind, setKind] = useState(old?.kind ?? 'chain_store');
  const [hasAnimals, setAnimals] = useState(old?.has_animals_with_plants ?? false);
  const [days, setDays] = useState(old?.take_back_days ? String(old.take_back_days) : '');
  const [problem, setProblem] = useState<string>();
  const back = readNumber(days, { least: 1, most: 3650, isWhole: true });
  const submit = async (): Promise<Problems> => {
    const found = name.trim() ? undefined : N.missing;
    setProblem(found);
    if (found || back.problem) return { name: found, days: back.problem };
    await record(t(N.told, { name: name.trim() }), [{ kind: 'source_set', body: { source: old?.id ?? newId(), name: name.trim(), kind, has_animals_with_plants: hasAnimals, take_back_days: back.value } }]);
    go('/new/source');
    if (!old) setName('');
    return {};
  };
  return (
    <>
      <Form onSubmit={submit}>
        <TextField label={N.name} value={name} onValue={setName} problem={problem} />
        <SelectField label={N.kind} value={kind} onValue={setKind} options={names.words.source_kind.map(({ word, text }) => ({ value: word, label: text }))} />
        <CheckField label={N.animals} isChecked={hasAnimals} onChecked={setAnimals} />
        <NumberField label={D.takeBack} isOptional isWhole value={days} onValue={setDays} problem={back.problem} />
      </Form>
      <Known title={N.known} list={names.sources} to="/new/source" />
    </>
  );
}

function Plant({ names, id }: Part) {
  const N = T.newPlant;
  const { record } = useRecord();
  const old = names.plants.find((one) => one.id === id);
  const [name, setName] = useState(old?.name ?? '');
  const [taxon, setTaxon] = useState(old?.taxon ?? '');
  const [isDelicate, setDelicate] = useState(old?.is_delicate ?? false);
  const [rots, setRots] = useState(old?.rots_when_closed ?? false);
  const [thrives, setThrives] = useState(old?.is_thriving ?? false);
  const [isMother, setMother] = useState(old?.is_mother ?? false);
  const [problem, setProblem] = useState<string>();
  const submit = async (): Promise<Problems> => {
    const found = name.trim() ? undefined : N.missing;
    setProblem(found);
    if (found) return { name: found };
    await record(t(N.told, { name: name.trim() }), [{
      kind: 'plant_set',
      body: { plant: old?.id ?? newId(), name: name.trim(), taxon: taxon.trim(), is_delicate: isDelicate || undefined, rots_when_closed: rots || undefined, is_thriving: thrives || undefined, is_mother: isMother || undefined },
    }]);
    go('/new/plant');
    if (!old) setName('');
    return {};
  };
  return (
    <>
      <Form onSubmit={submit}>
        <TextField label={N.name} value={name} onValue={setName} problem={problem} />
        <TextField label={N.taxon} isOptional value={taxon} onValue={setTaxon} suggestions={names.known_plants.map((one) => one.botanical_name)} />
        <CheckField label={N.delicate} isChecked={isDelicate} onChecked={setDelicate} />
        <CheckField label={N.rots} isChecked={rots} onChecked={setRots} />
        <CheckField label={N.thrives} isChecked={thrives} onChecked={setThrives} />
        <CheckField label={N.mother} isChecked={isMother} onChecked={setMother} />
      </Form>
      <Known title={N.known} list={names.plants} to="/new/plant" />
    </>
  );
}

function Strip({ bottle }: { bottle: Names['bottles'][number] }) {
  const N = T.newBottle;
  const { record } = useRecord();
  const [pct, setPct] = useState('');
  const [problem, setProblem] = useState<string>();
  return (
    <li>
      <h3>{t(N.since, { label: bottle.name, date: day(bottle.opened_on) })}</h3>
      <Form
        submit={N.stripAct}
        onSubmit={async () => {
          const { value, problem: bad } = readNumber(pct, { least: 0, most: 100 });
          const found = bad ?? (value === undefined ? N.missing : undefined);
          setProblem(found);
          if (found) return { pct: found };
          await record(t(N.stripTold, { name: bottle.name }), [{ kind: 'bottle_tested', body: { bottle: bottle.id, strength_pct: value } }]);
          setPct('');
          return {};
        }}
      >
        <NumberField label={N.strip} unit="%" value={pct} onValue={setPct} problem={problem} />
      </Form>
    </li>
  );
}

function Bottle({ names }: Part) {
  const N = T.newBottle;
  const { record } = useRecord();
  const [name, setName] = useState('');
  const [agent, setAgent] = useState('bleach');
  const [pct, setPct] = useState('');
  const [gravity, setGravity] = useState('');
  const [problems, setProblems] = useState<Problems>({});
  const submit = async (): Promise<Problems> => {
    const label = readNumber(pct, { least: 0.01, most: 100 });
    const heavy = readNumber(gravity, { least: 0.5, most: 2 });
    const found: Problems = { name: name.trim() ? undefined : N.missing, pct: label.problem ?? (label.value === undefined ? N.pct : undefined), gravity: heavy.problem };
    setProblems(found);
    if (Object.values(found).some(Boolean)) return found;
    await record(t(N.told, { name: name.trim() }), [{ kind: 'bottle_opened', body: { bottle: newId(), agent, name: name.trim(), label_pct: label.value, specific_gravity: heavy.value } }]);
    setName('');
    setPct('');
    return {};
  };
  return (
    <>
      <Form onSubmit={submit}>
        <TextField label={N.name} value={name} onValue={setName} problem={problems['name']} />
        <SelectField label={N.agent} value={agent} onValue={setAgent} options={names.words.agent.filter(({ word }) => word !== 'none' && word !== 'hot_water').map(({ word, text }) => ({ value: word, label: text }))} />
        <div class="field-row">
          <NumberField label={N.pct} unit="%" value={pct} onValue={setPct} problem={problems['pct']} />
          <NumberField label={N.gravity} isOptional value={gravity} onValue={setGravity} problem={problems['gravity']} />
        </div>
      </Form>
      {names.bottles.length > 0 && (
        <section aria-labelledby="bottles">
          <h2 id="bottles">{N.opened}</h2>
          <ul>{names.bottles.map((bottle) => <Strip key={bottle.id} bottle={bottle} />)}</ul>
        </section>
      )}
    </>
  );
}

function NewPlace({ names }: Part) {
  return <PlaceForm names={names} />;
}

const PARTS = { place: NewPlace, source: Source, plant: Plant, bottle: Bottle } as const;

function titleOf(what: keyof typeof PARTS, names: Names, id: string): string {
  const old = what === 'source' ? names.sources.find((one) => one.id === id) : what === 'plant' ? names.plants.find((one) => one.id === id) : undefined;
  if (what === 'place') return T.newPlace.title;
  if (what === 'bottle') return T.newBottle.title;
  const N = what === 'source' ? T.newSource : T.newPlant;
  return old ? t(N.titleOld, { name: old.name }) : N.title;
}

export default function NewThingScreen({ params: { what = '', id = '' } }: ScreenProps) {
  const names = useNames();
  if (!(what in PARTS)) return <NotFound />;
  const key = what as keyof typeof PARTS;
  const Part = PARTS[key];
  return (
    <Shown answer={names} title={T.choose}>
      {(all) => {
        const title = titleOf(key, all, id);
        return (
          <div class="column">
            <Heading key={title} title={title}>{title}</Heading>
            <Part key={id} names={all} id={id} />
          </div>
        );
      }}
    </Shown>
  );
}
