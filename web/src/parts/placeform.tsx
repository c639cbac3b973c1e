// The form of a place: a new one, or one that is changed (all its facts are told again).
import { useState } from 'preact/hooks';
import type { PlaceBrief, PlaceKind, Use } from '../api';
import type { components } from '../../build/api';
import { units } from '../format';
import { newId } from '../record/event';
import { useRecord } from '../record/use';
import { go, paths } from '../router';
import { tell as T } from '../strings/tell.en';
import { t } from '../strings.en';
import { CheckField, ChoiceField, Form, NumberField, readNumber, TextField, type Problems } from './form';

const P = T.newPlace;
const US_GAL_L = 3.785411784;

/** A typed number in the reader's units, as the record has it (°C, litres). */
function inMetric(value: number | undefined, is: 'temperature' | 'volume'): number | undefined {
  if (value === undefined || units() === 'metric') return value;
  return is === 'temperature' ? (value - 32) / 1.8 : value * US_GAL_L;
}

function inOurs(value: number | null | undefined, is: 'temperature' | 'volume'): string {
  if (value === null || value === undefined) return '';
  if (units() === 'metric') return String(value);
  return (is === 'temperature' ? value * 1.8 + 32 : value / US_GAL_L).toFixed(1).replace(/\.0$/, '');
}

export function PlaceForm({ names, old }: { names: components['schemas']['Names']; old?: PlaceBrief }) {
  const { record } = useRecord();
  const [name, setName] = useState(old?.name ?? '');
  const [kind, setKind] = useState<PlaceKind>(old?.kind ?? 'bin');
  const [uses, setUses] = useState<Use[]>([...(old?.uses ?? [])]);
  const [animals, setAnimals] = useState(old?.animals ?? '');
  const [hasAnimals, setHasAnimals] = useState(old?.has_animals ?? false);
  const [hasGasket, setGasket] = useState(old?.has_gasket ?? false);
  const [temp, setTemp] = useState(inOurs(old?.set_temp_c, 'temperature'));
  const [volume, setVolume] = useState(inOurs(old?.volume_l, 'volume'));
  const [shelf, setShelf] = useState(old?.shelf ? String(old.shelf) : '');
  const [isRetired, setRetired] = useState(old?.is_retired ?? false);
  const [problems, setProblems] = useState<Problems>({});
  const isBox = kind === 'bin' || kind === 'jar';
  const submit = async (): Promise<Problems> => {
    const warm = readNumber(temp);
    const size = readNumber(volume, { least: 0.01 });
    const board = readNumber(shelf, { least: 1, most: 1000, isWhole: true });
    const found: Problems = { name: name.trim() ? undefined : P.missing, temp: warm.problem, volume: size.problem, shelf: board.problem };
    setProblems(found);
    if (Object.values(found).some(Boolean)) return found;
    const what = t(old ? T.place.change.told : P.told, { name: name.trim(), place: name.trim() });
    await record(what, [{
      kind: 'place_set',
      body: {
        place: old?.id ?? newId(), name: name.trim(), kind,
        uses: kind === 'enclosure' ? uses : undefined,
        animals: kind === 'enclosure' ? animals.trim() : undefined,
        has_animals: kind === 'enclosure' ? hasAnimals || undefined : undefined,
        has_gasket: isBox ? hasGasket || undefined : undefined,
        set_temp_c: inMetric(warm.value, 'temperature'), volume_l: inMetric(size.value, 'volume'), shelf: board.value,
        is_retired: isRetired || undefined,
      },
    }]);
    go(old ? paths.place(old.code) : paths.places);
    return {};
  };
  const isUs = units() === 'us';
  return (
    <Form onSubmit={submit}>
      <TextField label={P.name} value={name} onValue={setName} problem={problems['name']} />
      <ChoiceField label={P.kind} value={kind} onValue={setKind} options={names.words.place_kind.map(({ word, text }) => ({ value: word as PlaceKind, label: text }))} />
      {kind === 'enclosure' && (
        <>
          <fieldset class="choices">
            <legend>{P.uses}</legend>
            <div class="choice-row">
              {(Object.keys(T.arrive.uses) as Use[]).filter((use) => use !== 'stock').map((use) => (
                <CheckField key={use} label={T.arrive.uses[use]} isChecked={uses.includes(use)} onChecked={(is) => setUses(is ? [...uses, use] : uses.filter((one) => one !== use))} />
              ))}
            </div>
          </fieldset>
          <TextField label={P.animals} isOptional value={animals} onValue={setAnimals} />
          <CheckField label={P.hasAnimals} isChecked={hasAnimals} onChecked={setHasAnimals} />
        </>
      )}
      {isBox && <CheckField label={P.gasket} isChecked={hasGasket} onChecked={setGasket} />}
      {kind !== 'outside' && (
        <div class="field-row">
          <NumberField label={P.temp} unit={isUs ? '°F' : '°C'} isOptional value={temp} onValue={setTemp} problem={problems['temp']} />
          <NumberField label={P.volume} unit={isUs ? 'US gal' : 'L'} isOptional value={volume} onValue={setVolume} problem={problems['volume']} />
          <NumberField label={P.shelf} isOptional isWhole value={shelf} onValue={setShelf} problem={problems['shelf']} />
        </div>
      )}
      {old && <CheckField label={P.retired} isChecked={isRetired} onChecked={setRetired} />}
    </Form>
  );
}
