// How pages look in this browser: theme and units. At the foot of every page, and among the settings.
import { useState } from 'preact/hooks';
import { keepUnits, units, type Units } from '../format';
import { S } from '../strings.en';
import { applyTheme, theme, type Theme } from '../theme';

export function LookFields({ onUnits }: { onUnits: () => void }) {
  const [chosen, setChosen] = useState<Theme>(theme());
  const [unit, setUnit] = useState<Units>(units());
  return (
    <div class="settings-fields">
      <label>
        {S.settings.theme}
        <select
          value={chosen}
          onChange={(event) => {
            const value = event.currentTarget.value as Theme;
            applyTheme(value);
            setChosen(value);
          }}
        >
          {Object.entries(S.settings.themes).map(([value, name]) => (
            <option key={value} value={value}>{name}</option>
          ))}
        </select>
      </label>
      <label>
        {S.settings.units}
        <select
          value={unit}
          onChange={(event) => {
            const value = event.currentTarget.value as Units;
            keepUnits(value);
            setUnit(value);
            onUnits();
          }}
        >
          {Object.entries(S.settings.unitNames).map(([value, name]) => (
            <option key={value} value={value}>{name}</option>
          ))}
        </select>
      </label>
    </div>
  );
}
