// Loads: the ticket to enter first, in the order of a scale ticket, then the list by day.
import type { Bid, Contract, Crop, Load, LoadSum, Loads } from '../api';
import type { FarmSnapshot } from '../app';
import { checkDay, checkWeights, ranges } from '../checks';
import { Entry, type Item, type Values } from '../parts/entry';
import { AsTyped } from '../parts/settlement';
import { Notice, Page, RowLink } from '../parts/ui';
import { useUnits } from '../settings';
import type { State } from '../sync';
import { decimal, number, printedUsd } from '../units';
import { count, day, dayOf } from '../words';
import { localInput, text } from './field';

export function LoadsPage({ snapshot, sync }: { snapshot: FarmSnapshot; sync: State }) {
  const { loads } = snapshot;
  const units = useUnits();
  const kept = sync.outbox.filter((k) => !k.answer && k.command.type === 'load');
  return (
    <Page title="Loads" under={<p class="second num">{loads.all.loads === 0 ? 'No load in the book yet.' : `${count(loads.all.loads, 'load')} in the book, ${sumWords(loads.all, units.system)} net.`}</p>}>
      <section class="sheet" aria-labelledby="add-head">
        <h2 id="add-head">Add a load</h2>
        {snapshot.fields.length === 0 || snapshot.outlets.length + snapshot.bins.length === 0
          ? <p>A load needs a field it came from and an outlet or bin it went to; the season file names neither yet.</p>
          : <Ticket snapshot={snapshot} name="load" />}
      </section>
      {kept.length > 0 && (
        <Notice><p><strong>{count(kept.length, 'load')} kept on this device, not yet in the office:</strong></p><ul>{kept.map((k) => <li key={k.id}>{k.say}</li>)}</ul></Notice>
      )}
      <ByDay loads={loads} snapshot={snapshot} />
    </Page>
  );
}

const sumWords = (s: Omit<LoadSum, 'key'>, system: 'us' | 'metric') => [s.net_lb ? `${number(s.net_lb)} lb` : '', s.net_kg ? `${number(s.net_kg)} kg` : ''].filter(Boolean).join(' and ') || `0 ${system === 'us' ? 'lb' : 'kg'}`;

function ByDay({ loads, snapshot }: { loads: Loads; snapshot: FarmSnapshot }) {
  const list = loads.loads ?? [];
  const units = useUnits();
  if (list.length === 0) return <p>The first ticket entered above begins the list. Each load is settled by the outlet’s own schedule, line by line, and can be held against the buyer’s sheet.</p>;
  return (
    <>
      {[...new Set(list.map((l) => l.day))].map((d) => {
        const sum = loads.sums?.find((s) => s.key === d);
        return (
          <section key={d} aria-labelledby={`day-${d}`}>
            <h2 id={`day-${d}`} class="num">{day(d)}{sum ? `: ${count(sum.loads, 'load')}, ${sumWords(sum, units.system)}` : ''}</h2>
            <ul class="rows">{list.filter((l) => l.day === d).map((l) => <li key={l.id}><LoadRow load={l} snapshot={snapshot} /></li>)}</ul>
          </section>
        );
      })}
      {loads.more && <p class="second">Older loads are in the book; the device holds the newest {list.length}. <a href="/print/loads">All loads, to print</a></p>}
    </>
  );
}

export const netWords = (l: Load) => (l.net_lb !== null ? `${number(l.net_lb)}` : l.net_kg !== null ? number(l.net_kg) : '–');

export function LoadRow({ load: l, snapshot }: { load: Load; snapshot: FarmSnapshot }) {
  const where = snapshot.outlets.find((o) => o.id === l.outlet)?.name ?? snapshot.bins.find((b) => b.id === l.outlet)?.name ?? l.outlet;
  const from = (l.fields ?? []).map((id) => snapshot.fields.find((f) => f.id === id)?.name ?? id).join(' and ');
  const paid = l.settlement?.statement?.net_usd;
  const state = l.void ? 'taken out, does not count' : !l.counted ? 'waits for a look, does not count yet' : (l.waits ?? []).length > 0 ? 'waits for a look' : paid ? `${printedUsd(paid)} net` : l.settlement?.why_not ?? '';
  return (
    <RowLink to={`/loads/${encodeURIComponent(l.id)}`} name={l.ticket ? `Ticket ${l.ticket}` : 'No ticket number'} figure={netWords(l)} unit={l.net_lb !== null ? 'lb net' : l.net_kg !== null ? 'kg net' : 'no weight'}
      middle={state} say={`${l.crop} from ${from || 'no field'} to ${where}${l.moisture_pct !== null ? `, ${l.moisture_pct} %` : ''}.`} />
  );
}

/** priceFor is what a load would be priced at: its contract, or the newest bid that holds on its day. */
export function priceFor(snapshot: FarmSnapshot, outlet: string, crop: string, contract: string, on: string): { price: string; from: string } | null {
  const c: Contract | undefined = snapshot.contracts.find((one) => one.id === contract);
  if (c?.price_usd) return { price: c.price_usd, from: `contract ${c.id}` };
  const holds = (b: Bid) => b.outlet === outlet && b.crop === crop && b.price_usd !== null && (!b.from || b.from <= on) && (!b.until || b.until >= on);
  const bid = snapshot.bids.filter(holds).toSorted((a, b) => b.at.localeCompare(a.at))[0];
  return bid?.price_usd ? { price: bid.price_usd, from: `bid of ${day(dayOf(bid.at, snapshot.farm.zone))}` } : null;
}

/** plainNumber is a typed weight without its spaces and commas of thousands; what is no number stays as typed. */
const plainNumber = (typed = '') => decimal(typed) ?? typed.trim();

const factors: [string, string, string, string[]][] = [
  ['fm', 'foreign_material', 'Foreign material', ['soybean', 'sunflower', 'canola', 'wheat']],
  ['bcfm', 'bcfm', 'Broken and foreign material', ['corn', 'sorghum']],
  ['damage', 'damage_total', 'Damage, total', []],
  ['heat', 'heat_damage', 'Heat damage', []],
  ['splits', 'splits', 'Splits', ['soybean']],
  ['dockage', 'dockage', 'Dockage', ['wheat', 'barley', 'oats', 'canola', 'sorghum']],
  ['protein', 'protein', 'Protein', ['wheat', 'barley']],
];

/** Ticket is the form of a scale ticket, for a new load or a correction. */
export function Ticket({ snapshot, name, amend, onDone }: { snapshot: FarmSnapshot; name: string; amend?: { of: string; saw: string; was: Values }; onDone?: () => void }) {
  const units = useUnits();
  const unit = amend?.was['unit'] || units.weightUnit;
  const outlets: [string, string][] = [...snapshot.outlets.map((o) => [o.id, o.name] as [string, string]), ...snapshot.bins.map((b) => [b.id, `${b.name} (own bin)`] as [string, string])];
  const fields = snapshot.fields.map((f) => [f.id, f.name] as [string, string]);
  const cropOf = (v: Values) => v['crop'] || snapshot.fields.find((f) => f.id === (v['split'] || v['field'] || '').split('=')[0])?.crop || '';
  const trucks = snapshot.machines.filter((m) => m.kind === 'truck').map((m) => [m.id, m.name] as [string, string]);
  const items = (v: Values): Item[] => {
    const crop = cropOf(v);
    return [
      { name: 'ticket', label: 'Ticket number' },
      { name: 'outlet', label: 'Outlet', choices: [['', 'choose'], ...outlets], needed: true },
      { name: 'field', label: 'Field', choices: [['', 'choose'], ...fields], needed: !v['split'], wide: true },
      { name: 'gross', label: 'Gross, full', kind: 'decimal', unit, needed: true, range: ranges.weight },
      { name: 'tare', label: 'Tare, empty', kind: 'decimal', unit, needed: true, range: ranges.weight },
      { name: 'moisture', label: 'Moisture', kind: 'decimal', unit: '%', range: ranges.moisture },
      { name: 'test_weight', label: 'Test weight', kind: 'decimal', unit: 'lb/bu', range: ranges.test_weight },
      ...factors.map(([key, , label, crops]): Item => ({ name: key, label, kind: 'decimal', unit: '%', range: key === 'protein' ? ranges.protein : ranges.percent, extra: crops.length === 0 || !crops.includes(crop) || !['fm', 'bcfm'].includes(key) })),
      { name: 'contract', label: 'Contract', choices: [['', 'none'], ...snapshot.contracts.filter((c) => !v['outlet'] || c.outlet === v['outlet']).map((c) => [c.id, `${c.id}, ${c.crop}`] as [string, string])], extra: true },
      { name: 'truck', label: 'Truck', choices: [['', 'not said'], ...trucks], extra: true },
      { name: 'driver', label: 'Driver', extra: true },
      { name: 'at', label: 'When', kind: 'datetime-local', hint: 'left empty: now', extra: true },
      { name: 'split', label: 'From several fields', hint: 'each with its part, as creek-80=60%, home=40%', wide: true, extra: true },
      { name: 'note', label: 'Note', wide: true, extra: true },
    ];
  };
  const empty: Values = Object.fromEntries([...items({}).map((i) => i.name), 'crop', 'unit'].map((k) => [k, '']));
  const today = dayOf(snapshot.now, snapshot.farm.zone);
  const initial: Values = { ...empty, at: snapshot.farm.as_of ? localInput(snapshot) : '', ...amend?.was };
  return (
    <Entry name={name} type="load" path={amend ? `/loads/${amend.of}` : '/loads'} items={items} three button="Save load" extraWord="more of the ticket" initial={initial}
      {...(amend ? { amend } : {})} {...(onDone ? { onDone } : {})}
      say={(v) => `Load ${v['ticket'] || 'without a number'}, ${number((decimal(v['gross'] ?? '') ?? 0) - (decimal(v['tare'] ?? '') ?? 0))} ${unit} net`}
      check={(v) => {
        const tare = checkWeights(v['gross'] ?? '', v['tare'] ?? '', unit).tare;
        const at = checkDay('When', v['at'] ?? '', today);
        return { ...(tare ? { tare } : {}), ...(at ? { at } : {}) };
      }}
      body={(v) => ({
        ...text(v, 'ticket', 'outlet', 'crop', 'moisture', 'test_weight', ...factors.map(([key]) => key), 'contract', 'truck', 'driver', 'note'),
        field: v['split'] ? v['split'].split(',').map((part) => part.trim()).filter(Boolean) : [v['field'] ?? ''],
        gross: `${plainNumber(v['gross'])} ${unit}`, tare: `${plainNumber(v['tare'])} ${unit}`, ...(v['at'] ? { at: v['at'].replace('T', ' ') } : {}),
      })}>
      {(v, change) => <Beneath values={v} change={change} crop={cropOf(v) as Crop} unit={unit} snapshot={snapshot} />}
    </Entry>
  );
}

/** Beneath is what stands between the boxes and the button: net weight, an offered swap, and the settlement. */
function Beneath({ values: v, change, crop, unit, snapshot }: { values: Values; change: (some: Values) => void; crop: Crop | ''; unit: string; snapshot: FarmSnapshot }) {
  const [gross, tare] = [decimal(v['gross'] ?? ''), decimal(v['tare'] ?? '')];
  if (gross === null || tare === null) return null;
  const swap = checkWeights(v['gross'] ?? '', v['tare'] ?? '', unit).swap;
  if (swap) {
    return <div class="actions"><button type="button" class="button" onClick={() => change({ gross: v['tare'] ?? '', tare: v['gross'] ?? '' })}>Swap gross and tare</button></div>;
  }
  const schedule = snapshot.outlets.find((o) => o.id === v['outlet'])?.schedules?.find((s) => s.crop === crop);
  const price = crop ? priceFor(snapshot, v['outlet'] ?? '', crop, v['contract'] ?? '', (v['at'] || localInput(snapshot)).slice(0, 10)) : null;
  const plain = (key: string) => (decimal(v[key] ?? '') === null ? {} : { [factors.find(([k]) => k === key)?.[1] ?? key]: String(decimal(v[key]!)) });
  const ticket = { crop, ...(unit === 'kg' ? { gross_kg: gross, tare_kg: tare } : { gross_lb: gross, tare_lb: tare }), ...plain('moisture'), ...plain('test_weight'), ...Object.assign({}, ...factors.map(([key]) => plain(key))) as object };
  const missing = !v['outlet'] || !crop ? 'Choose field and outlet, and the settlement appears here.'
    : snapshot.bins.some((b) => b.id === v['outlet']) ? 'It goes to your own bin, so nothing is paid for it yet.'
    : !schedule ? `No schedule of this outlet for ${crop} is in the season, so it is not settled here.`
    : !price ? `No bid or contract price of this outlet for ${crop} holds on that day; add the bid and it settles.` : null;
  return (
    <div class="settle">
      <p class="num">Net <span class="money">{number(gross - tare)}</span> {unit}</p>
      {missing ? <p class="second">{missing}</p> : <AsTyped schedule={schedule!.schedule} ticket={ticket} price={price!} />}
    </div>
  );
}
