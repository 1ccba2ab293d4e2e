// First steps: place, fields, what cuts and hauls, one outlet with one bid, a few days of outlook.
import { useState } from 'preact/hooks';
import { call, type Crop, NoServer, told, Told, type Trouble } from '../api';
import { checkNumber, needed, type Range, ranges } from '../checks';
import { Box, Notice, Page } from '../parts/ui';
import { useDraft, useUnits } from '../settings';
import { localTime, planAgain, pull } from '../sync';
import { addDays, day } from '../words';
import { checkHighLow } from './outlook';

const crops: Crop[] = ['soybean', 'corn', 'wheat', 'sorghum', 'canola', 'barley', 'oats', 'sunflower'];
const fieldKeys = ['name', 'acres', 'crop', 'yield', 'mature', 'moisture'] as const;
const days = 5;

const empty: Record<string, string> = {
  id: '', 'farm.name': '', 'farm.place': '', 'farm.lat': '', 'farm.lon': '', fields: '3',
  'combine.head': '', 'combine.speed': '', 'combine.holds': '', 'truck.count': '', 'truck.gross': '', 'truck.tare': '', 'truck.per_mile': '', 'truck.per_hour': '',
  'outlet.name': '', 'outlet.miles': '', 'outlet.open': '07:00', 'outlet.close': '18:00', 'outlet.saturday_close': '',
  'schedule.moisture_base': '', 'schedule.per': '', 'schedule.discount': '', 'schedule.unit': 'percent', 'schedule.reject': '',
};

interface Ask { key: string; label: string; kind?: 'decimal' | 'date' | 'time'; unit?: string; hint?: string; range?: Range; optional?: boolean; wide?: boolean; choices?: [string, string][] }

export function Start() {
  const [v, change, clear] = useDraft('start', empty);
  const [wrong, setWrong] = useState<Record<string, string>>({});
  const [failed, setFailed] = useState<Trouble[]>([]);
  const [busy, setBusy] = useState(false);
  const metric = useUnits().system === 'metric';
  const today = localTime(new Date()).slice(0, 10);
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const count = Math.max(1, Number(v['fields']) || 3);
  const grown = [...new Set(Array.from({ length: count }, (_, i) => v[`field${i}.crop`]).filter((c): c is string => !!c))];
  const temp = metric ? 'C' : 'F';

  const either = (us: string, low: number, high: number, si: string, least: number, most: number) =>
    (metric ? { unit: si, range: { low: least, high: most, unit: si } } : { unit: us, range: { low, high, unit: us } });

  const farm: Ask[] = [
    { key: 'farm.name', label: 'Farm' }, { key: 'farm.place', label: 'Nearest place' },
    { key: 'farm.lat', label: 'Latitude', kind: 'decimal', range: { low: -90, high: 90, unit: 'degrees' }, hint: 'as 40.05' },
    { key: 'farm.lon', label: 'Longitude', kind: 'decimal', range: { low: -180, high: 180, unit: 'degrees' }, hint: 'west is minus, as -88.37' },
  ];
  const fields = (i: number): Ask[] => [
    { key: `field${i}.name`, label: 'Field' }, { key: `field${i}.crop`, label: 'Crop', choices: [['', 'choose'], ...crops.map((c) => [c, c] as [string, string])] },
    { key: `field${i}.acres`, label: 'Acres', kind: 'decimal', range: { low: 1, high: 5000, unit: 'acres' } },
    { key: `field${i}.yield`, label: 'Yield, as you guess', kind: 'decimal', unit: 'bu/acre', range: { low: 1, high: 400, unit: 'bu/acre' } },
    { key: `field${i}.mature`, label: 'Half of it ripe on', kind: 'date', hint: 'past or to come' },
    { key: `field${i}.moisture`, label: 'Meter this morning', kind: 'decimal', unit: '%', range: ranges.moisture, hint: 'may be left out', optional: true },
  ];
  const limits: Ask[] = grown.map((c) => ({ key: `limit.${c}`, label: `Your limit for ${c}`, kind: 'decimal', unit: '%', range: ranges.moisture, hint: 'you cut at or under it' }));
  const machines: Ask[] = [
    { key: 'combine.head', label: 'Header width', kind: 'decimal', ...either('ft', 3, 80, 'm', 1, 24) }, { key: 'combine.speed', label: 'Usual speed', kind: 'decimal', ...either('mph', 0.5, 15, 'km/h', 1, 24) },
    { key: 'combine.holds', label: 'Grain tank holds', kind: 'decimal', unit: 'bu', range: { low: 20, high: 800, unit: 'bu' } }, { key: 'truck.count', label: 'Trucks', kind: 'decimal' },
    { key: 'truck.gross', label: 'Truck, full', kind: 'decimal', ...either('lb', 1000, 300000, 'kg', 454, 136000), hint: 'legal gross weight' }, { key: 'truck.tare', label: 'Truck, empty', kind: 'decimal', ...either('lb', 500, 100000, 'kg', 227, 45300) },
    { key: 'truck.per_mile', label: 'Cost of a mile', kind: 'decimal', unit: '$', range: { low: 0, high: 100, unit: '$ a mile' } }, { key: 'truck.per_hour', label: 'Cost of an hour', kind: 'decimal', unit: '$', range: { low: 0, high: 1000, unit: '$ an hour' } },
  ];
  const outlet: Ask[] = [
    { key: 'outlet.name', label: 'Outlet' }, { key: 'outlet.miles', label: 'Miles to it', kind: 'decimal', range: { low: 0, high: 500, unit: 'miles' } },
    { key: 'outlet.open', label: 'Opens', kind: 'time' }, { key: 'outlet.close', label: 'Closes', kind: 'time' }, { key: 'outlet.saturday_close', label: 'Closes on Saturday', kind: 'time', optional: true, hint: 'left empty: closed' },
  ];
  const schedule: Ask[] = [
    { key: 'schedule.moisture_base', label: 'Pays in full up to', kind: 'decimal', unit: '%', range: ranges.moisture }, { key: 'schedule.reject', label: 'Turns away over', kind: 'decimal', unit: '%', range: ranges.moisture },
    { key: 'schedule.per', label: 'For each', kind: 'decimal', unit: 'points', hint: 'or part of them, as 0.5' }, { key: 'schedule.discount', label: 'It takes', kind: 'decimal', hint: 'as 1.25' },
    { key: 'schedule.unit', label: 'Of what', choices: [['percent', 'percent of the price'], ['cents', 'cents a bushel']], wide: true },
  ];
  const bids: Ask[] = grown.flatMap((c): Ask[] => [
    { key: `bid.${c}`, label: `Bid for ${c}`, kind: 'decimal', unit: '$/bu', range: ranges.price }, { key: `until.${c}`, label: 'Last day of it', kind: 'date', optional: true, hint: 'left empty: it names none' },
  ]);
  const outlook = (i: number): Ask[] => [
    { key: `day${i}.high`, label: 'High', kind: 'decimal', unit: `°${temp}`, optional: i > 2 }, { key: `day${i}.low`, label: 'Low', kind: 'decimal', unit: `°${temp}`, optional: i > 2 },
    { key: `day${i}.rain`, label: 'Chance of rain', kind: 'decimal', unit: '%', range: ranges.percent, optional: true },
  ];
  const all = () => [...farm, ...Array.from({ length: count }, (_, i) => fields(i)).flat(), ...limits, ...machines, ...outlet, ...schedule, ...bids, ...Array.from({ length: days }, (_, i) => outlook(i)).flat()];

  const box = (a: Ask) => (
    <Box key={a.key} id={`start-${a.key}`} label={a.label} value={v[a.key] ?? ''} onInput={(text) => change({ [a.key]: text })} required={!a.optional} wide={a.wide ?? false}
      {...(a.kind ? { kind: a.kind } : {})} {...(a.unit ? { unit: a.unit } : {})} {...(a.hint ? { hint: a.hint } : {})} {...(a.choices ? { choices: a.choices } : {})} {...(wrong[a.key] ? { wrong: wrong[a.key]! } : {})} />
  );

  const document = () => {
    const part = (name: string) => Object.fromEntries(Object.entries(v).filter(([k, text]) => k.startsWith(`${name}.`) && text.trim()).map(([k, text]) => [k.slice(name.length + 1), text.trim()]));
    const unit = (text: string | undefined, u: string) => (text ? `${text} ${u}` : text);
    const [c, t] = [part('combine'), part('truck')];
    return {
      id: v['id'] || crypto.randomUUID(),
      farm: { ...part('farm'), zone },
      limits: part('limit'),
      fields: Array.from({ length: count }, (_, i) => Object.fromEntries(fieldKeys.filter((k) => v[`field${i}.${k}`]?.trim()).map((k) => [k, v[`field${i}.${k}`]!.trim()]))),
      combine: { name: 'Combine', head: unit(c['head'], metric ? 'm' : 'ft'), speed: unit(c['speed'], metric ? 'km/h' : 'mph'), holds: c['holds'] },
      truck: { name: 'Truck', ...t, gross: unit(t['gross'], metric ? 'kg' : 'lb'), tare: unit(t['tare'], metric ? 'kg' : 'lb'), per_mile: `$${t['per_mile']}`, per_hour: `$${t['per_hour']}` },
      outlet: part('outlet'), schedule: part('schedule'),
      bids: grown.map((crop) => ({ crop, cash: `$${v[`bid.${crop}`]?.trim()}`, ...(v[`until.${crop}`] ? { until: v[`until.${crop}`] } : {}) })),
      outlook: Array.from({ length: days }, (_, i) => ({ i, ...part(`day${i}`) as Record<string, string> })).filter((d) => 'high' in d && 'low' in d)
        .map((d) => ({ i: d.i, on: addDays(today, d.i), high: `${d['high' as never]} ${temp}`, low: `${d['low' as never]} ${temp}`, ...('rain' in d ? { rain: String(d['rain' as never]) } : {}) })),
    };
  };

  /** boxOf names the box that the office speaks of, by the place in the document that was sent. */
  const boxOf = (where: string) => {
    const [part = '', at = '', key = ''] = where.split('.');
    switch (part) {
      case 'fields': return `field${at}.${key}`;
      case 'limits': return `limit.${at || grown[0]}`;
      case 'bids': return `${key === 'until' ? 'until' : 'bid'}.${grown[Number(at)]}`;
      case 'outlook': return `day${document().outlook[Number(at)]?.i}.${key}`;
      default: return where;
    }
  };

  const submit = async (e: Event) => {
    e.preventDefault();
    const found: Record<string, string> = {};
    for (const a of all()) {
      const text = v[a.key] ?? '';
      const said = !text.trim() ? (a.optional ? undefined : needed(a.label)) : a.kind === 'decimal' ? checkNumber(a.label, text, a.range) : undefined;
      if (said) found[a.key] = said;
    }
    for (let i = 0; i < days; i++) {
      const said = checkHighLow({ high: v[`day${i}.high`] ?? '', low: v[`day${i}.low`] ?? '' })['low'];
      if (said) found[`day${i}.low`] = said;
    }
    setWrong(found);
    setFailed([]);
    const go = (wrong: Record<string, string>) => {
      const first = all().find((a) => wrong[a.key]);
      if (first) window.document.getElementById(`start-${first.key}`)?.focus();
      return first !== undefined;
    };
    if (go(found)) return;
    const body = document();
    change({ id: body.id });
    setBusy(true);
    try {
      await call('/api/start', { ...body, outlook: body.outlook.map(({ i: _, ...rest }) => rest) });
      clear();
      await pull();
      await planAgain();
    } catch (err) {
      if (!(err instanceof Told)) {
        setFailed([{ rule: 'away', say: err instanceof NoServer ? 'The farm’s computer does not answer, so the farm could not be begun.' : String(err), next: 'What you typed stays here; press again when it is on.' }]);
        return;
      }
      const said: Record<string, string> = {};
      const boxes = new Set(all().map((a) => a.key));
      const loose = [err.trouble, ...err.findings.filter((f) => f.say !== err.trouble.say)].filter((f) => {
        const key = boxOf(f.where ?? '');
        if (!boxes.has(key)) return true;
        said[key] ??= told(f);
        return false;
      });
      setWrong(said);
      setFailed(loose);
      go(said);
    } finally {
      setBusy(false);
    }
  };

  return (
    <Page title="First steps" under={<p class="second">Five minutes: where the farm is, some fields, what cuts and hauls, one outlet with its bid, a few days of outlook. What you type stays in its boxes if you leave.</p>}>
      <form onSubmit={submit} noValidate>
        <section class="sheet"><h2>The farm</h2><div class="boxes">{farm.map(box)}</div><p class="second small">The clock is that of this computer: {zone}.</p></section>
        {Array.from({ length: count }, (_, i) => <section class="sheet" key={i} aria-label={`Field ${i + 1}`}><h2>Field {i + 1}</h2><div class="boxes three">{fields(i).map(box)}</div></section>)}
        <div class="actions">
          <button type="button" class="button" onClick={() => change({ fields: String(count + 1) })}>Add a field</button>
          {count > 1 && <button type="button" class="button" onClick={() => change({ fields: String(count - 1) })}>One field less</button>}
        </div>
        {limits.length > 0 && <section class="sheet"><h2>How wet you cut</h2><div class="boxes">{limits.map(box)}</div></section>}
        <section class="sheet"><h2>What cuts and hauls</h2><div class="boxes">{machines.map(box)}</div></section>
        <section class="sheet"><h2>One outlet</h2><div class="boxes three">{outlet.map(box)}</div>
          <h3>What it takes for moisture</h3><div class="boxes">{schedule.map(box)}</div>
          {bids.length > 0 && <><h3>What it bids</h3><div class="boxes">{bids.map(box)}</div></>}
        </section>
        <section class="sheet"><h2>The days to come</h2><p class="second">Three at least, from any forecast you trust.</p>
          {Array.from({ length: days }, (_, i) => <fieldset key={i}><legend><h3>{day(addDays(today, i))}</h3></legend><div class="boxes three">{outlook(i).map(box)}</div></fieldset>)}
        </section>
        {failed.map((f) => <Notice key={f.say} kind="stop" word="Not begun." live><span>{told(f)}</span></Notice>)}
        <div class="actions"><button class="button primary" disabled={busy}>{busy ? 'Beginning…' : 'Begin the farm and plan'}</button></div>
      </form>
    </Page>
  );
}
