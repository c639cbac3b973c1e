// The plan of a build, told: a name, a day, what is wanted.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type Schemas, type Use, PLAIN } from '../api';
import { CheckField, Field, Form, LongField, NumberField, readNumber, SelectField, TextField, type Problems } from '../parts/form';
import { Heading, Shown } from '../parts/screen';
import { newId } from '../record/event';
import { useRecord } from '../record/use';
import { go } from '../router';
import type { ScreenProps } from '../screens';
import { t } from '../strings.en';
import { plan as P } from '../strings/builds.en';

type Build = Schemas['Build'];
type PlaceBrief = Schemas['PlaceBrief'];

const USES: readonly { use: Use; label: string }[] = [
  { use: 'plants_only', label: 'plants only' },
  { use: 'amphibian', label: 'amphibians' },
  { use: 'reptile', label: 'reptiles' },
  { use: 'invertebrate', label: 'invertebrates, or a clean-up crew' },
];

interface Typed {
  name: string;
  needBy: string;
  enclosure: string;
  uses: readonly Use[];
  plants: string;
  materials: string;
  sizes: { length: string; width: string; height: string; substrate: string; drainage: string };
  settle: string;
}

/** "3 Ficus pumila" a line; a line without a number is one. */
function readLines(text: string): { items: { count: number; name: string }[]; bad: string | undefined } {
  const items: { count: number; name: string }[] = [];
  for (const line of text.split('\n').map((one) => one.trim()).filter(Boolean)) {
    const [, count, name] = /^(\d+(?:[.,]\d+)?)?\s*[x×]?\s*(.*\S)$/.exec(line) ?? [];
    if (!name || /^\d/.test(name)) return { items, bad: line };
    items.push({ count: count ? Number(count.replace(',', '.')) : 1, name });
  }
  return { items, bad: undefined };
}

function begin(build: Build | undefined): Typed {
  const counts = new Map<string, number>();
  for (const line of build?.lines ?? []) counts.set(line.plant, (counts.get(line.plant) ?? 0) + line.count);
  return {
    name: build?.name ?? '',
    needBy: build?.need_by_on ?? '',
    enclosure: build?.enclosure?.id ?? '',
    uses: build && !build.enclosure ? build.uses.filter((use): use is Use => use !== 'stock') : [],
    plants: [...counts].map(([name, count]) => `${count} ${name}`).join('\n'),
    materials: (build?.materials ?? []).map((one) => `${one.volume_l ?? 1} ${one.name}`).join('\n'),
    sizes: { length: '', width: '', height: '', substrate: '', drainage: '' },
    settle: String(build?.settle_days ?? 7),
  };
}

function PlanForm({ build, places }: { build: Build | undefined; places: readonly PlaceBrief[] }) {
  const { record } = useRecord();
  const [typed, setTyped] = useState<Typed>(() => begin(build));
  const [problems, setProblems] = useState<Problems>({});
  const put = (part: Partial<Typed>) => setTyped((old) => ({ ...old, ...part }));
  const size = (part: Partial<Typed['sizes']>) => setTyped((old) => ({ ...old, sizes: { ...old.sizes, ...part } }));

  const submit = (): Problems | undefined => {
    const plants = readLines(typed.plants);
    const materials = readLines(typed.materials);
    const read = Object.fromEntries(
      Object.entries(typed.sizes).map(([key, text]) => [key, readNumber(text, { least: 1, most: 20_000 })]),
    ) as Record<keyof Typed['sizes'], ReturnType<typeof readNumber>>;
    const settle = readNumber(typed.settle, { least: 0, most: 365, isWhole: true });
    const found: Problems = {
      name: typed.name.trim() ? undefined : P.needName,
      needBy: /^\d{4}-\d{2}-\d{2}$/.test(typed.needBy) ? undefined : P.needDay,
      plants: plants.bad ? t(P.badLine, { text: plants.bad }) : plants.items.length === 0 ? P.needPlants : undefined,
      materials: materials.bad ? t(P.badLine, { text: materials.bad }) : undefined,
      settle: settle.problem,
      ...Object.fromEntries(Object.entries(read).map(([key, one]) => [key, one.problem])),
    };
    setProblems(found);
    if (Object.values(found).some(Boolean)) return found;
    const sides = [read.length.value, read.width.value, read.height.value];
    void record(t(P.told, { name: typed.name.trim() }), [
      {
        kind: 'build_planned',
        body: {
          build: build?.id ?? newId(),
          name: typed.name.trim(),
          need_by: typed.needBy,
          enclosure: typed.enclosure,
          plan_json: {
            uses: typed.uses.length > 0 ? [...typed.uses] : undefined,
            plants: plants.items.map((item) => ({ name: item.name, count: Math.round(item.count) })),
            materials: materials.items.map((item) => ({ name: item.name, volume_l: item.count })),
            size_mm: sides.every((side) => side !== undefined) ? sides : undefined,
            substrate_mm: read.substrate.value,
            drainage_mm: read.drainage.value,
            settle_days: settle.value,
          },
        },
      },
    ]).then(() => go('/builds'));
    return undefined;
  };

  const enclosures = places.filter((place) => place.kind === 'enclosure');
  return (
    <Form onSubmit={submit} submit={P.submit}>
      <TextField label={P.name} value={typed.name} onValue={(name) => put({ name })} problem={problems['name']} />
      <Field label={P.needBy} problem={problems['needBy']}>
        {(ties) => <input type="date" {...ties} value={typed.needBy} onInput={(event) => put({ needBy: event.currentTarget.value })} />}
      </Field>
      <SelectField
        label={P.enclosure}
        value={typed.enclosure}
        empty={P.noEnclosure}
        options={enclosures.map((place) => ({ value: place.id, label: place.name }))}
        onValue={(enclosure) => put({ enclosure })}
      />
      {typed.enclosure === '' && (
        <fieldset class="choices">
          <legend>{P.uses}</legend>
          <div class="choice-row">
            {USES.map(({ use, label }) => (
              <CheckField
                key={use}
                label={label}
                isChecked={typed.uses.includes(use)}
                onChecked={(is) => put({ uses: is ? [...typed.uses, use] : typed.uses.filter((one) => one !== use) })}
              />
            ))}
          </div>
        </fieldset>
      )}
      <LongField label={P.plants} hint={P.plantsHint} value={typed.plants} rows={6} onValue={(plants) => put({ plants })} problem={problems['plants']} />
      <LongField label={P.materials} hint={P.materialsHint} value={typed.materials} rows={3} isOptional onValue={(materials) => put({ materials })} problem={problems['materials']} />
      <details open={Object.values(typed.sizes).some(Boolean)}>
        <summary>{P.measures}</summary>
        <NumberField label={P.length} unit="mm" isOptional value={typed.sizes.length} onValue={(length) => size({ length })} problem={problems['length']} />
        <NumberField label={P.width} unit="mm" isOptional value={typed.sizes.width} onValue={(width) => size({ width })} problem={problems['width']} />
        <NumberField label={P.height} unit="mm" isOptional value={typed.sizes.height} onValue={(height) => size({ height })} problem={problems['height']} />
        <NumberField label={P.substrate} unit="mm" isOptional value={typed.sizes.substrate} onValue={(substrate) => size({ substrate })} problem={problems['substrate']} />
        <NumberField label={P.drainage} unit="mm" isOptional value={typed.sizes.drainage} onValue={(drainage) => size({ drainage })} problem={problems['drainage']} />
      </details>
      <NumberField label={P.settle} isWhole value={typed.settle} onValue={(settle) => put({ settle })} problem={problems['settle']} />
    </Form>
  );
}

export default function BuildPlanScreen({ params }: ScreenProps) {
  const places = useAnswer('places plain', () => client.GET('/api/v1/places', PLAIN));
  const builds = useAnswer('builds', () => client.GET('/api/v1/builds'));
  return (
    <Shown answer={places} title={P.title}>
      {(data) => (
        <div class="column">
          <Heading title={P.title}>{P.title}</Heading>
          {(builds.data || !params['code']) && (
            <PlanForm build={builds.data?.builds.find((one) => one.code === params['code'])} places={data.places} />
          )}
        </div>
      )}
    </Shown>
  );
}
