// Figures in words, as a person at the kitchen table says them.

/** odds says a chance as people do. Never 0 or 100 in a hundred. */
export function odds(p: number): string {
  const steps: [number, string][] = [
    [0.02, 'less than 1 in 50'], [0.075, 'about 1 in 20'], [0.15, 'about 1 in 10'], [0.225, 'about 1 in 5'], [0.29, 'about 1 in 4'],
    [0.42, 'about 1 in 3'], [0.58, 'nearly even'], [0.71, 'about 2 in 3'], [0.775, 'about 3 in 4'], [0.85, 'about 4 in 5'],
    [0.925, 'about 9 in 10'], [0.98, 'about 19 in 20'],
  ];
  return steps.find(([below]) => p < below)?.[1] ?? 'more than 49 in 50';
}

export const days = (n: number) => (n === 0 ? 'today' : n === 1 ? '1 day' : `${n} days`);
export const count = (n: number, one: string, many = `${one}s`) => `${n.toLocaleString('en-US')} ${n === 1 ? one : many}`;
/** tight keeps a percent sign on the line of its number. */
export const tight = (s: string) => s.replace(/(\d) %/g, '$1\u00a0%');
export const capital = (s: string) => s.charAt(0).toUpperCase() + s.slice(1);

const zoned = new Map<string, Intl.DateTimeFormat>();
function format(zone: string, options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = zone + JSON.stringify(options);
  let f = zoned.get(key);
  if (!f) {
    try { f = new Intl.DateTimeFormat('en-GB', { timeZone: zone, ...options }); } catch { f = new Intl.DateTimeFormat('en-GB', options); }
    zoned.set(key, f);
  }
  return f;
}

/** day says a civil day, "Thu 12 Sep". */
export function day(iso: string): string {
  return format('UTC', { weekday: 'short', day: 'numeric', month: 'short' }).format(new Date(`${iso.slice(0, 10)}T12:00:00Z`)).replace(/,/g, '').replace('Sept', 'Sep');
}

/** dayOf is the civil day of an instant on the farm's clock, "2031-09-14". */
export function dayOf(instant: string, zone: string): string {
  const parts = format(zone, { year: 'numeric', month: '2-digit', day: '2-digit' }).formatToParts(new Date(instant));
  const part = (type: string) => parts.find((p) => p.type === type)?.value ?? '';
  return `${part('year')}-${part('month')}-${part('day')}`;
}

export const clock = (instant: string, zone: string) => format(zone, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' }).format(new Date(instant));
export const when = (instant: string, zone: string) => `${day(dayOf(instant, zone))} ${clock(instant, zone)}`;

/** hour says an hour of the day given as a number, 11.33 is "11:20". */
export function hour(h: number): string {
  const minutes = Math.round(h * 60);
  return `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
}

/** age says how long ago an instant was. */
export function age(instant: string, now: string | number): string {
  const minutes = (new Date(now).getTime() - new Date(instant).getTime()) / 60_000;
  if (minutes < 2) return 'just now';
  if (minutes < 90) return `${Math.round(minutes)} minutes ago`;
  if (minutes < 36 * 60) return count(Math.round(minutes / 60), 'hour') + ' ago';
  return count(Math.round(minutes / 60 / 24), 'day') + ' ago';
}

/** left says how long until the end of a day, seen from now. */
export function left(until: string, today: string): string {
  const n = Math.round((Date.parse(until.slice(0, 10)) - Date.parse(today.slice(0, 10))) / 86_400_000);
  if (n < 0) return `ended ${day(until)}`;
  if (n === 0) return 'ends today';
  if (n === 1) return 'ends tomorrow';
  return n <= 21 ? `${n} days left` : `until ${day(until)}`;
}

export function addDays(iso: string, n: number): string {
  return new Date(Date.parse(`${iso.slice(0, 10)}T12:00:00Z`) + n * 86_400_000).toISOString().slice(0, 10);
}
