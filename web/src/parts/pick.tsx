// Choosing among what there is: places, lots, plants, sources.
import type { ComponentChildren } from 'preact';
import { useAnswer } from '../answer';
import { client, type LotBrief, type PlaceBrief, PLAIN } from '../api';
import { tell as T } from '../strings/tell.en';
import { S, t, tn } from '../strings.en';
import { SelectField, type Option } from './form';

export const useNames = () => useAnswer('names', () => client.GET('/api/v1/names'));
export const useLots = () => useAnswer('lots plain', () => client.GET('/api/v1/lots', PLAIN));
export const usePlaces = () => useAnswer('places plain', () => client.GET('/api/v1/places', PLAIN));

export function placeOptions(places: PlaceBrief[], kinds?: readonly PlaceBrief['kind'][]): Option<string>[] {
  return places
    .filter((place) => !kinds || kinds.includes(place.kind))
    .map((place) => ({ value: place.id, label: place.is_held ? `${place.name} (${S.places.held})` : place.name, group: place.kind_text }));
}

export function PlaceSelect({ places, kinds, label, value, onValue, problem }: {
  places: PlaceBrief[];
  kinds?: readonly PlaceBrief['kind'][];
  label: string;
  value: string;
  onValue: (id: string) => void;
  problem?: string | undefined;
}) {
  const options = placeOptions(places, kinds);
  return <SelectField label={label} value={value} onValue={onValue} options={options} empty={T.choose} problem={problem} />;
}

/** Lots to tick, by place. */
export function LotTicks({ lots, chosen, onChosen, legend, problem }: {
  lots: LotBrief[];
  chosen: readonly string[];
  onChosen: (ids: string[]) => void;
  legend: string;
  problem?: string | undefined;
}) {
  return (
    <fieldset class={problem ? 'choices has-problem' : 'choices'}>
      <legend>{legend}</legend>
      <div class="choice-row">
        {lots.map((lot) => (
          <label key={lot.id} class="choice check">
            <input
              type="checkbox"
              checked={chosen.includes(lot.id)}
              onChange={(event) => onChosen(event.currentTarget.checked ? [...chosen, lot.id] : chosen.filter((id) => id !== lot.id))}
            />
            <span>{lot.name}<small>{[lot.code, tn(S.lot.plants, lot.count), lot.place?.name ?? ''].filter(Boolean).join(' · ')}</small></span>
          </label>
        ))}
      </div>
      {problem && <p class="problem">{problem}</p>}
    </fieldset>
  );
}

/** Where a form came from. */
export function Back({ to, children }: { to: string; children: ComponentChildren }) {
  return <p class="kicker"><a href={to}>{children}</a></p>;
}

/** "Moon valley (K7F2QX)". */
export const lotLabel = (lot: { name: string; code: string }): string => t(T.lotLabel, { name: lot.name, code: lot.code });
