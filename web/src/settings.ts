// What this device prefers: theme, units, who sits at it, what was dismissed for the day, drafts. None of it is farm data.
import { createContext } from 'preact';
import { useContext, useEffect, useState } from 'preact/hooks';
import { type System, Units } from './units';

export type Theme = 'auto' | 'day' | 'night' | 'glare';

function read(key: string): string | null { try { return localStorage.getItem(key); } catch { return null; } }
function write(key: string, value: string | null): void {
  try { if (value === null) localStorage.removeItem(key); else localStorage.setItem(key, value); } catch { /* a private window: nothing is kept, everything works */ }
}

export const theme = () => (read('theme') ?? 'auto') as Theme;
export function setTheme(t: Theme): void { write('theme', t); showTheme(); }

const dark = matchMedia('(prefers-color-scheme: dark)');
export function showTheme(): void {
  const chosen = theme();
  const t = chosen === 'auto' ? (dark.matches ? 'night' : 'day') : chosen;
  document.documentElement.dataset['theme'] = t;
  document.querySelector('meta[name=theme-color]')?.setAttribute('content', { day: '#FAF7F0', night: '#14130F', glare: '#FFFFFF' }[t]);
}
dark.addEventListener('change', showTheme);

export const system = () => (read('units') === 'metric' ? 'metric' : 'us') as System;
export function setSystem(s: System): void { write('units', s); dispatchEvent(new Event('units')); }

const UnitsContext = createContext(new Units('us'));
export const UnitsProvider = UnitsContext.Provider;
export const useUnits = () => useContext(UnitsContext);
export function useSystem(): Units {
  const [s, set] = useState(system());
  useEffect(() => {
    const look = () => set(system());
    addEventListener('units', look);
    return () => removeEventListener('units', look);
  }, []);
  return new Units(s);
}

export const who = () => read('by') ?? '';
export const setWho = (name: string) => write('by', name.trim() || null);

/** useDraft holds what is being typed on a form, and keeps it over a reload until it is saved. */
export function useDraft<T extends Record<string, string>>(name: string, empty: T): [T, (change: Partial<T>) => void, () => void] {
  const key = `draft:${name}`;
  const [draft, set] = useState<T>(() => {
    try { return { ...empty, ...JSON.parse(read(key) ?? '{}') }; } catch { return empty; }
  });
  const change = (some: Partial<T>) => set((now) => {
    const next = { ...now, ...some };
    write(key, JSON.stringify(next));
    return next;
  });
  const clear = () => { write(key, null); set(empty); };
  return [draft, change, clear];
}

/** dismissed holds the cautions that were put away on one day. */
export function dismissed(day: string): Set<string> {
  try {
    const kept = JSON.parse(read('dismissed') ?? '{}') as { day?: string; said?: string[] };
    return new Set(kept.day === day ? kept.said : []);
  } catch { return new Set(); }
}
export function dismiss(day: string, said: string): void {
  write('dismissed', JSON.stringify({ day, said: [...dismissed(day), said] }));
}
