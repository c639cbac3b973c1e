// The collection: what is quiet enough for what, where; mothers and what was cut from them.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, PLAIN, type Schemas, type Use } from '../api';
import { useMore } from '../more';
import { useFew } from '../parts/few';
import { day } from '../format';
import { SelectField, TextField } from '../parts/form';
import { Heading, Shown } from '../parts/screen';
import { paths } from '../router';
import { S, t, tn } from '../strings.en';
import { collection as C } from '../strings/builds.en';

type Plant = Schemas['Collection']['plants'][number];
type Lot = Schemas['CollectionLot'];

const USES: { value: Use; label: string }[] = [
  { value: 'plants_only', label: 'plants only' },
  { value: 'reptile', label: 'reptiles' },
  { value: 'invertebrate', label: 'invertebrates' },
  { value: 'amphibian', label: 'amphibians' },
  { value: 'stock', label: 'stock' },
];

function fits(plant: Plant, text: string, use: Use | ''): boolean {
  const words = text.trim().toLowerCase().split(/\s+/);
  const told = [
    plant.name, plant.botanical ?? '', plant.rooting_text ?? '', plant.mothers_text ?? '',
    ...plant.lots.flatMap((lot) => [lot.place?.name ?? '', lot.lot.code, lot.phase_text, lot.is_mother ? C.mother : '', lot.quiet_for_text ?? '']),
  ].join(' ').toLowerCase();
  return (
    words.every((word) => told.includes(word)) &&
    (use === '' || plant.lots.some((lot) => lot.quiet_for.includes(use)))
  );
}

function LotLine({ lot, today }: { lot: Lot; today: string }) {
  return (
    <>
      <a href={paths.lot(lot.lot.code)}>{t(C.here, { n: lot.count, place: lot.place?.name ?? '' })}</a>
      {lot.is_mother && <b> · {C.mother}</b>}
      <span class="quiet">{lot.quiet_for_text && ` · ${lot.quiet_for_text}`}{lot.giving_text && ` · ${lot.giving_text}`}{lot.next_cut_on && lot.next_cut_on > today && ` · ${t(C.cut, { date: day(lot.next_cut_on, today) })}`}</span>
    </>
  );
}

/** Lots as a tree: what was cut or split from a lot hangs below it. */
function Tree({ lots, under, today }: { lots: readonly Lot[]; under: string | null; today: string }) {
  const ids = new Set(lots.map((lot) => lot.lot.id));
  const here = lots.filter((lot) => (under === null ? !lot.mother_id || !ids.has(lot.mother_id) : lot.mother_id === under));
  if (here.length === 0) return null;
  return (
    <ul class={under === null ? 'tree' : 'tree under'}>
      {here.map((lot) => (
        <li key={lot.lot.id}>
          <LotLine lot={lot} today={today} />
          <Tree lots={lots} under={lot.lot.id} today={today} />
        </li>
      ))}
    </ul>
  );
}

function PlantPart({ plant, today }: { plant: Plant; today: string }) {
  const id = `plant-${plant.plant_id ?? plant.name.replace(/\W+/g, '-')}`;
  return (
    <section aria-labelledby={id}>
      <h2 id={id}>{plant.name} <span class="state">{tn(C.count, plant.count)}</span></h2>
      {plant.botanical && plant.botanical !== plant.name && <p class="quiet"><i lang="la">{plant.botanical}</i></p>}
      <Tree lots={plant.lots} under={null} today={today} />
      {plant.mothers > 0 && (
        <p class="quiet">{[plant.mothers_text, plant.cuttings_text, plant.rooting_text].filter(Boolean).join(' ')}</p>
      )}
    </section>
  );
}

const STEP = 30;

/** A plant is asked for by a lot of it; there is always one. */
const codeOf = (plant: Plant) => plant.lots[0]?.lot.code ?? '';
const needsAsking = (plant: Plant) => plant.lots.some((lot) => lot.phase !== 'established' || lot.is_mother);

const askPlants = async (codes: readonly string[]) => {
  const { data, ...rest } = await client.GET('/api/v1/collection', { params: { query: { only: codes.join(',') } } });
  return data ? { ...rest, data: data.plants } : rest;
};

function All({ plants, today }: { plants: readonly Plant[]; today: string }) {
  const [text, setText] = useState('');
  const [use, setUse] = useState<Use | ''>('');
  const named = plants.filter((plant) => fits(plant, text, ''));
  const few = useFew(named, `${text} ${use}`, STEP);
  // For a use all that have the name are asked, the first few else.
  const asked = (use === '' ? few.shown : named).filter(needsAsking).map(codeOf);
  const answers = useMore(plants, asked, askPlants, codeOf);
  const found = (use === '' ? few.shown : named).map((plant) => answers.of(codeOf(plant)) ?? plant).filter((plant) => fits(plant, '', use));
  if (plants.length === 0) {
    return <div class="empty"><p class="lead">{C.none}</p><p><a href="/moving-in">{C.noneText}</a></p></div>;
  }
  return (
    <>
      <form role="search" class="form" onSubmit={(event) => event.preventDefault()}>
        <TextField label={C.find} value={text} onValue={setText} />
        <SelectField label={C.forUse} value={use} empty={C.any} options={USES} onValue={setUse} />
        <p class="hidden" role="status">{tn(C.kicker, use === '' ? named.length : found.length)}</p>
      </form>
      {answers.left > 0 && <p role="status" class="quiet">{use === '' ? S.few.asking : t(C.asked, { n: asked.length - answers.left, all: asked.length })}</p>}
      {found.length === 0 && answers.left === 0 && <p>{C.noFit}</p>}
      {found.map((plant) => <PlantPart key={plant.plant_id ?? plant.name} plant={plant} today={today} />)}
      {use === '' && few.more}
    </>
  );
}

export default function CollectionScreen() {
  const answer = useAnswer('collection plain', () => client.GET('/api/v1/collection', PLAIN));
  const room = useAnswer('room', () => client.GET('/api/v1/room'));
  return (
    <Shown answer={answer} title={C.title}>
      {({ plants, no_backup_text: missing }) => (
        <div class="column">
          <p class="kicker">{tn(C.kicker, plants.length)}</p>
          <Heading title={C.title}>{C.title}</Heading>
          {missing && <p class="note">{missing}</p>}
          <All plants={plants} today={room.data?.today_on ?? ''} />
        </div>
      )}
    </Shown>
  );
}
