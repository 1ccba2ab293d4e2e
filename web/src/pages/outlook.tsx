// The owner's own forecast of the days to come, one day at a time.
import { useState } from 'preact/hooks';
import type { OutlookDay } from '../api';
import type { FarmSnapshot } from '../app';
import { ranges } from '../checks';
import { Entry, type Item, type Values } from '../parts/entry';
import { Notice, Page, RowOpener } from '../parts/ui';
import { useUnits } from '../settings';
import type { State } from '../sync';
import { decimal, type Units } from '../units';
import { addDays, age, capital, day, dayOf } from '../words';
import { text } from './field';

const words = (...w: string[]): [string, string][] => [['', 'not said'], ...w.map((one) => [one, one] as [string, string])];

export function OutlookDays({ snapshot, sync }: { snapshot: FarmSnapshot; sync: State }) {
  const today = dayOf(snapshot.now, snapshot.farm.zone);
  const [open, setOpen] = useState<string | null>(null);
  const units = useUnits();
  const kept = sync.outbox.filter((k) => !k.answer && k.command.type === 'forecast');
  return (
    <Page title="Outlook days" under={<p class="second">What you expect of the next ten days, from any forecast you trust. Each day sharpens the plan; a later entry of a day takes the place of the earlier.</p>}>
      {kept.length > 0 && <Notice><p><strong>Kept on this device, not yet in the office:</strong> {kept.map((k) => k.say).join('; ')}.</p></Notice>}
      <ul class="rows">
        {Array.from({ length: 10 }, (_, n) => addDays(today, n)).map((on) => {
          const known = snapshot.outlook.filter((o) => o.on === on).toSorted((a, b) => b.at.localeCompare(a.at))[0];
          return (
            <li key={on}>
              <RowOpener id={on} name={day(on)} open={open === on} onPress={() => setOpen(open === on ? null : on)} {...inRow(known, units)} say={known ? `Entered ${age(known.at, snapshot.now)}. ${capital(sky(known))}` : 'Not entered.'}>
                <Day on={on} known={known} snapshot={snapshot} />
              </RowOpener>
            </li>
          );
        })}
      </ul>
    </Page>
  );
}

/** inRow is a day's weather as its row shows it. */
function inRow(o: OutlookDay | undefined, units: Units): { figure: string; middle: string } {
  if (!o || o.high_f === null || o.low_f === null) return { figure: '–', middle: '' };
  return { figure: `${units.temperature(o.high_f).replace(/ .*/, '')}/${units.temperature(o.low_f)}`, middle: o.rain_pct !== null ? `${o.rain_pct} % chance of rain` : 'rain not said' };
}

const sky = (o: OutlookDay) => [o.amount && `${o.amount} rain`, o.when && o.when !== 'any' && `in the ${o.when}`, o.dew && `${o.dew} dew`, o.wind && `${o.wind} wind`, o.sky && `${o.sky} sky`].filter(Boolean).join(', ');

/** forecastItems are the boxes of a day: high and low, rain, and what is known of dew, wind and sky. */
export function forecastItems(unit: 'C' | 'F'): Item[] {
  const range = unit === 'C' ? ranges.temp_metric : ranges.temp_us;
  return [
    { name: 'high', label: 'High', kind: 'decimal', unit: `°${unit}`, needed: true, range },
    { name: 'low', label: 'Low', kind: 'decimal', unit: `°${unit}`, needed: true, range },
    { name: 'rain', label: 'Chance of rain', kind: 'decimal', unit: '%', range: ranges.percent },
    { name: 'amount', label: 'How much', choices: words('trace', 'light', 'medium', 'heavy') },
    { name: 'when', label: 'When', choices: words('night', 'morning', 'afternoon', 'evening', 'any'), extra: true },
    { name: 'dew', label: 'Dew', choices: words('none', 'light', 'heavy'), extra: true },
    { name: 'wind', label: 'Wind', choices: words('calm', 'light', 'breezy', 'windy'), extra: true },
    { name: 'sky', label: 'Sky', choices: words('clear', 'part', 'cloudy'), extra: true },
  ];
}

/** checkHighLow refuses a low over the high. */
export function checkHighLow(v: Values): Values {
  const [high, low] = [decimal(v['high'] ?? ''), decimal(v['low'] ?? '')];
  return high !== null && low !== null && low > high ? { low: `Low ${v['low']} is over the high, ${v['high']}. Swapped?` } : {};
}

function Day({ on, known, snapshot }: { on: string; known: OutlookDay | undefined; snapshot: FarmSnapshot }) {
  const units = useUnits();
  const shown = (f: number | null | undefined) => (f == null ? '' : units.temperature(f).replace(/ .*/, '').replace('−', '-'));
  return (
    <Entry name={`forecast-${on}`} type="forecast" path="/more/outlook" items={forecastItems(units.temperatureUnit)} button={`Save ${day(on)}`} extraWord="when it rains, dew, wind and sky"
      initial={{ high: shown(known?.high_f), low: shown(known?.low_f), rain: known?.rain_pct == null ? '' : String(known.rain_pct), amount: known?.amount ?? '', when: known?.when ?? '', dew: known?.dew ?? '', wind: known?.wind ?? '', sky: known?.sky ?? '' }}
      say={(v) => `${day(on)}: ${v['high']}/${v['low']}${v['rain'] ? `, ${v['rain']} % rain` : ''}`} check={checkHighLow}
      body={(v) => ({ on, ...text(v, 'rain', 'amount', 'when', 'dew', 'wind', 'sky'), high: `${v['high']!.trim()} ${units.temperatureUnit}`, low: `${v['low']!.trim()} ${units.temperatureUnit}`, ...(snapshot.farm.as_of ? { at: snapshot.now.slice(0, 16).replace('T', ' ') } : {}) })} />
  );
}
