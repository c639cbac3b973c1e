// Light or dark: as the device has it, unless the reader chose.
export type Theme = 'auto' | 'light' | 'dark';
const KEY = 'fernlock.theme';

export function theme(): Theme {
  const kept = localStorage.getItem(KEY);
  return kept === 'light' || kept === 'dark' ? kept : 'auto';
}

export function applyTheme(value: Theme): void {
  localStorage.setItem(KEY, value);
  if (value === 'auto') delete document.documentElement.dataset['theme'];
  else document.documentElement.dataset['theme'] = value;
}
