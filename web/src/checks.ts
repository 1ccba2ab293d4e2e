// What cannot be true is refused before it is kept, in the words of the office; what is only doubtful is asked there.
// The ranges are those of internal/core/journal.
import { decimal, number } from './units';

export type Range = { low: number; high: number; unit: string };
export const ranges = {
  moisture: { low: 0, high: 60, unit: '% wet basis' },
  test_weight: { low: 20, high: 80, unit: 'lb/bu' },
  percent: { low: 0, high: 100, unit: '%' },
  protein: { low: 0, high: 40, unit: '%' },
  price: { low: 0.00001, high: 200, unit: '$ a bushel' },
  basis: { low: -20, high: 20, unit: '$ a bushel' },
  weight: { low: 0, high: 400_000, unit: 'lb' },
  spots: { low: 1, high: 200, unit: 'spots' },
  temp_us: { low: -80, high: 140, unit: '°F' },
  temp_metric: { low: -62, high: 60, unit: '°C' },
} satisfies Record<string, Range>;

export const needed = (label: string) => `${label} is not filled in.`;

/** checkNumber returns why a text is no number that can stand in a box, or nothing. Empty is not wrong here. */
export function checkNumber(label: string, text: string, range?: Range): string | undefined {
  if (text.trim() === '') return undefined;
  const x = decimal(text);
  if (x === null) return `${label} “${text.trim()}” is not a number: digits, and one point or comma.`;
  if (!range) return undefined;
  if (x >= range.low && x <= range.high) return undefined;
  if (x < 0 && range.low === 0) return `${label} ${text.trim()} ${unit(range)} cannot be negative.`;
  const tries = range === ranges.price ? [x / 100, x / 10, x * 10] : [x / 10, x / 100, x * 10]; // a price is often said in cents
  const meant = tries.find((y) => y >= range.low && y <= range.high && y > 0 && Math.abs(y - Number(y.toFixed(2))) < 1e-9);
  return `${label} ${text.trim()} ${unit(range)} is not possible (${number(range.low, places(range.low))} to ${number(range.high)} ${range.unit}).` +
    (meant !== undefined && range !== ranges.weight ? ` Did you mean ${trim(meant)}?` : '');
}

const unit = (r: Range) => r.unit.split(' ')[0] ?? '';
const places = (x: number) => String(x).split('.')[1]?.length ?? (x % 1 ? 5 : 0); // 1e-5 is printed without a point
const trim = (x: number) => number(x, Number.isInteger(x) ? (x < 1000 ? 1 : 0) : places(Number(x.toFixed(2))));

/** checkWeights returns what is wrong between the full and the empty weight of a truck, by box. */
export function checkWeights(gross: string, tare: string, weightUnit: string): { tare?: string; swap?: boolean } {
  const [g, t] = [decimal(gross), decimal(tare)];
  if (g === null || t === null) return {};
  if (t > g) return { tare: `Empty weight ${number(t)} ${weightUnit} is more than full weight ${number(g)} ${weightUnit}. Swapped?`, swap: true };
  if (t === g) return { tare: `Net weight is 0 ${weightUnit}. Correct the weights; an empty trip needs no ticket.` };
  return {};
}

/** checkDay refuses a day that lies in the future, seen from today, or is no day. */
export function checkDay(label: string, text: string, today: string): string | undefined {
  if (text === '') return undefined;
  const day = text.slice(0, 10);
  if (!/^\d{4}-\d{2}-\d{2}$/.test(day) || Number.isNaN(Date.parse(day))) return `${label} “${text}” is not a day.`;
  return day > today ? `${label} ${day} lies in the future; today is ${today}.` : undefined;
}
