// What a person reads and types in the units they chose. Everything from the server is in US units unless a printed
// weight names its own.
import type { Crop } from './api';

export type System = 'us' | 'metric';

/** Legal pounds in a bushel, as docs/model has them; nothing here where the trade has no one figure. */
const bushelPounds: Partial<Record<Crop, number>> = { soybean: 60, corn: 56, wheat: 60, sorghum: 56, canola: 50, barley: 48, oats: 32 };
const kgPerPound = 0.45359237;
const hectaresPerAcre = 0.40468564224;
const minus = '−';

export function number(x: number, places = 0): string {
  const text = Math.abs(x).toLocaleString('en-US', { minimumFractionDigits: places, maximumFractionDigits: places });
  return x < 0 && Number(text.replace(/,/g, '')) !== 0 ? minus + text : text;
}
export const signed = (x: number, places = 0) => (Math.abs(x) < 0.5 * 10 ** -places ? number(0, places) : (x > 0 ? '+' : '') + number(x, places));

export const usd = (x: number, places = 0) => (x < 0 ? minus : '') + '$' + number(Math.abs(x), places);
export const signedUsd = (x: number, places = 0) => (Math.abs(x) < 0.5 * 10 ** -places ? '$0' : (x > 0 ? '+' : minus) + '$' + number(Math.abs(x), places));

/** printed groups the digits of a decimal that stands on paper, changing none of them. */
export function printed(text: string | number | null | undefined): string {
  if (text === null || text === undefined || text === '') return '–';
  const [, sign = '', whole = '', rest = ''] = /^(-?)(\d+)(.*)$/.exec(String(text)) ?? [];
  return whole ? (sign ? minus : '') + whole.replace(/\B(?=(\d{3})+$)/g, ',') + rest : String(text);
}
export function printedUsd(text: string | null | undefined): string {
  if (text === null || text === undefined) return '–';
  const p = printed(text);
  return p.startsWith(minus) ? `${minus}$${p.slice(1)}` : `$${p}`;
}

export const pct = (x: number | null | undefined, places = 1) => (x === null || x === undefined ? '–' : `${number(x, places)} %`);

export class Units {
  constructor(readonly system: System) {}
  private get metric() { return this.system === 'metric'; }

  area(acres: number): string { return this.metric ? `${number(acres * hectaresPerAcre, acres < 100 ? 1 : 0)} ha` : `${number(acres)} acres`; }
  get areaUnit() { return this.metric ? 'ha' : 'acre'; }
  /** perArea is dollars an acre as dollars for the area unit; the sign is always shown. */
  perArea(usdPerAcre: number): string { return signedUsd(this.perAreaValue(usdPerAcre)); }
  perAreaValue(usdPerAcre: number): number { return this.metric ? usdPerAcre / hectaresPerAcre : usdPerAcre; }

  grain(bushels: number, crop: Crop | ''): string {
    const pounds = crop ? bushelPounds[crop] : undefined;
    return this.metric && pounds ? `${number((bushels * pounds * kgPerPound) / 1000, 1)} t` : `${number(bushels)} bu`;
  }
  yield(buPerAcre: number, crop: Crop): string {
    const pounds = bushelPounds[crop];
    return this.metric && pounds ? `${number((buPerAcre * pounds * kgPerPound) / 1000 / hectaresPerAcre, 1)} t/ha` : `${number(buPerAcre)} bu/acre`;
  }
  /** price is dollars a bushel, or a tonne. */
  price(usdPerBu: number, crop: Crop): string {
    return this.pricePerTonne(crop) ? usd(usdPerBu * this.tonneBushels(crop), 2) : usd(usdPerBu, 2);
  }
  priceUnit(crop: Crop): string { return this.pricePerTonne(crop) ? 't' : 'bu'; }
  private pricePerTonne(crop: Crop) { return this.metric && bushelPounds[crop] !== undefined; }
  private tonneBushels(crop: Crop) { return 1000 / kgPerPound / (bushelPounds[crop] ?? NaN); }

  weight(pounds: number): string { return this.metric ? `${number(pounds * kgPerPound)} kg` : `${number(pounds)} lb`; }
  get weightUnit() { return this.metric ? 'kg' : 'lb'; }
  length(feet: number): string { return this.metric ? `${number(feet * 0.3048, 1)} m` : `${number(feet, feet % 1 ? 1 : 0)} ft`; }
  distance(miles: number): string { return this.metric ? `${number(miles * 1.609344, 0)} km` : count(miles); }
  temperature(f: number): string { return this.metric ? `${number(((f - 32) * 5) / 9)} °C` : `${number(f)} °F`; }
  get temperatureUnit() { return this.metric ? 'C' : 'F'; }
}

const count = (miles: number) => (miles === 1 ? '1 mile' : `${number(miles, miles % 1 ? 1 : 0)} miles`);

/** decimal tells whether a text is one plain decimal number, with a comma or a point. */
export const decimal = (text: string): number | null => {
  const t = text.trim().replace(/\s/g, '');
  const plain = /^[-−]?\d{1,3}(,\d{3})+(\.\d+)?$/.test(t) ? t.replace(/,/g, '') : t.replace(',', '.');
  return /^[-−]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain.replace('−', '-')) : null;
};
