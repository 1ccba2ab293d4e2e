// Where a load can go: worth by moisture, bids with the time they have left, and each schedule read back in words.
import { useState } from 'preact/hooks';
import { told, type Bid, type Outlet, type Worth } from '../api';
import type { FarmSnapshot } from '../app';
import { ranges } from '../checks';
import { Pays } from '../parts/chart';
import { Entry, type Item } from '../parts/entry';
import { Box, Notice, Page, Scroll } from '../parts/ui';
import { useUnits } from '../settings';
import { type State, useKept } from '../sync';
import { pct, printed, printedUsd, usd } from '../units';
import { age, capital, day, dayOf, left } from '../words';
import { text } from './field';

const dayNames: Record<string, string> = { mon: 'Mon', tue: 'Tue', wed: 'Wed', thu: 'Thu', fri: 'Fri', sat: 'Sat', sun: 'Sun' };

export function Outlets({ snapshot, sync }: { snapshot: FarmSnapshot; sync: State }) {
  const worth = useKept('/api/outlets', snapshot.plan?.id);
  const [adding, setAdding] = useState(false);
  const today = dayOf(snapshot.now, snapshot.farm.zone);
  const kept = sync.outbox.filter((k) => !k.answer && k.command.type === 'bid');
  return (
    <Page title="Outlets" under={<p class="second">{snapshot.bids_at.newest ? bidsHeard(snapshot.bids_at.newest, snapshot.bids_at.oldest ?? snapshot.bids_at.newest, snapshot.now) : 'No bid entered yet: without one nothing can be priced.'}</p>}>
      <div class="actions"><button type="button" class="button primary" aria-expanded={adding} onClick={() => setAdding(!adding)}>Add bid</button></div>
      {adding && <div class="sheet"><h2>Add bid</h2><AddBid snapshot={snapshot} onDone={() => setAdding(false)} /></div>}
      {kept.length > 0 && <Notice><p><strong>Kept on this device, not yet in the office:</strong> {kept.map((k) => k.say).join('; ')}.</p></Notice>}
      <ThisLoad snapshot={snapshot} today={today} />
      <section class="sheet" aria-labelledby="worth-head">
        <h2 id="worth-head">What a standing bushel is worth</h2>
        {worth.document ? <WorthTables worth={worth.document} /> : <p>{worth.trouble ? `${worth.trouble.say} ${worth.trouble.next ?? ''}` : worth.away ? 'The table is not on this device yet; it comes when the farm’s computer answers.' : 'Fetching the table…'}</p>}
      </section>
      {snapshot.outlets.map((o) => <OneOutlet key={o.id} outlet={o} snapshot={snapshot} today={today} />)}
      {snapshot.bins.length > 0 && <OwnBins snapshot={snapshot} />}
    </Page>
  );
}

function bidsHeard(newest: string, oldest: string, now: string): string {
  const [young, old] = [age(newest, now), age(oldest, now)];
  return young === old ? `Bids heard ${young}.` : `Newest bid ${young}, oldest ${old}.`;
}

function WorthTables({ worth }: { worth: Worth }) {
  const units = useUnits();
  return (
    <>
      <p class="second">Net of discounts, drying and hauling, for a bushel as it stands; the best way at each moisture is bold and underlined. A dash: not taken.</p>
      {worth.crops.map((c) => {
        const best = (i: number) => c.best?.[i] ?? c.ways.reduce((b, w, n) => ((w.net_usd_per_bu[i] ?? -1) > (c.ways[b]?.net_usd_per_bu[i] ?? -1) ? n : b), 0);
        const rows = c.moistures_pct.map((m, i) => ({ m, i })).filter(({ m, i }) => (m % 1 === 0 || c.moistures_pct.length < 15) && c.ways.some((w) => w.net_usd_per_bu[i] != null));
        return (
          <div key={c.crop}>
            <h3>{capital(c.crop)}, $ a {units.priceUnit(c.crop) === 't' ? 'tonne' : 'bushel'}</h3>
            <Scroll label={`Worth of ${c.crop} by moisture`}>
              <table>
                <thead><tr><th scope="col">Moisture</th>{c.ways.map((w) => <th scope="col" key={w.to + w.contract}>{w.name}</th>)}</tr></thead>
                <tbody>
                  {rows.map(({ m, i }) => (
                    <tr key={m}><th scope="row">{pct(m, m % 1 ? 1 : 0)}</th>{c.ways.map((w, n) => { const v = w.net_usd_per_bu[i]; return <td key={w.to + w.contract} class={v != null && n === best(i) ? 'best' : ''}>{v == null ? '–' : units.price(v, c.crop)}</td>; })}</tr>
                  ))}
                </tbody>
              </table>
            </Scroll>
            <BreakEven crop={c} />
          </div>
        );
      })}
    </>
  );
}

/** BreakEven says where along the moistures the best way changes. */
function BreakEven({ crop: c }: { crop: Worth['crops'][number] }) {
  const name = (n: number) => (c.ways[n] ? c.ways[n]!.name : '');
  const at = (i: number) => c.ways.reduce<number>((b, w, n) => (w.net_usd_per_bu[i] != null && (b < 0 || w.net_usd_per_bu[i]! > c.ways[b]!.net_usd_per_bu[i]!) ? n : b), -1);
  const turns: string[] = [];
  for (let i = 1; i < c.moistures_pct.length; i++) {
    const [a, b] = [at(i - 1), at(i)];
    if (a !== b) turns.push(b < 0 ? `over ${pct(c.moistures_pct[i - 1]!)} nobody takes it` : a < 0 ? `from ${pct(c.moistures_pct[i]!)} ${name(b)} takes it` : `from ${pct(c.moistures_pct[i]!)} ${name(b)} pays more than ${name(a)}`);
  }
  const start = at(0);
  return <p>{start >= 0 ? `Dry, ${name(start)} pays most` : 'At the driest nobody takes it'}{turns.length ? `; ${turns.slice(0, 6).join('; ')}` : ', at every moisture'}.</p>;
}

/** ThisLoad ranks where a truckload nets most now, delivered. */
function ThisLoad({ snapshot, today }: { snapshot: FarmSnapshot; today: string }) {
  const [field, setField] = useState('');
  const [typed, setTyped] = useState('');
  const of = snapshot.fields.find((f) => f.id === field);
  const planned = snapshot.plan?.sheet.fields.find((f) => f.field === field)?.moisture?.mean_pct;
  const text = typed.trim().replace(/\s*%$/, '').replace(',', '.');
  const wrong = text !== '' && !(/^\d{1,2}(\.\d{1,2})?$/.test(text) && Number(text) >= 5 && Number(text) <= 45) ? `Moisture ${typed} is not possible (5 to 45 % wet basis).` : '';
  const moisture = wrong ? '' : text || (planned !== undefined ? planned.toFixed(1) : '');
  return (
    <section class="sheet" aria-labelledby="thisload-head">
      <h2 id="thisload-head">What a truckload nets now</h2>
      <div class="boxes">
        <Box id="thisload-field" label="From field" value={field} onInput={setField} choices={[['', 'choose'], ...snapshot.fields.map((f) => [f.id, `${f.name}, ${f.crop}`] as [string, string])]} />
        <Box id="thisload-moisture" label="Moisture" kind="decimal" unit="%" value={typed} onInput={setTyped} hint={planned !== undefined ? `left empty: ${pct(planned)}, the plan’s own figure` : 'as it will test at the scale'} {...(wrong ? { wrong } : {})} />
      </div>
      {of && moisture && <Ranked key={field + moisture} field={field} moisture={moisture} crop={of.crop} snapshot={snapshot} today={today} assumed={text === ''} />}
      {of && !moisture && !wrong && <p class="second">Without a plan the moisture must be said.</p>}
    </section>
  );
}

function Ranked({ field, moisture, crop, snapshot, today, assumed }: { field: string; moisture: string; crop: Bid['crop']; snapshot: FarmSnapshot; today: string; assumed: boolean }) {
  const got = useKept(`/api/price?field=${encodeURIComponent(field)}&moisture=${moisture}`, String(snapshot.head.seq));
  const units = useUnits();
  const d = got.document;
  if (!d) return <p role="status">{got.trouble ? `${got.trouble.say} ${got.trouble.next ?? ''}` : got.away ? 'The sums come when the farm’s computer answers.' : 'Settling a load at every outlet…'}</p>;
  const offers = (d.today?.offers ?? []).map((o) => ({ ...o, of: d.offers[o.offer - 1]! })).toSorted((a, b) => Number(b.net_usd ?? -1) - Number(a.net_usd ?? -1));
  const best = Number(offers[0]?.net_usd ?? 0);
  const ends = (o: (typeof offers)[number]) => (o.of.until ? left(o.of.until, today) : o.of.kind === 'bin' ? 'your own expectation' : o.of.kind === 'contract' ? '' : 'names no last day');
  return (
    <>
      <p class="num">A {d.truck} with {printed(d.load_lb)} lb of {crop} at {moisture} %{assumed ? ' (the plan’s forecast)' : ''}; settled by each posted schedule, hauling taken off.</p>
      <ul class="plainlist num">
        {offers.map((o) => (
          <li key={o.offer}>
            <p><strong class="wide">{o.net_usd === null ? '–' : printedUsd(o.net_usd)}</strong> <strong>{o.of.name}</strong>{o.net_usd !== null && Number(o.net_usd) < best ? `, ${usd(best - Number(o.net_usd), 2)} less` : ''}<br />
              <span class="second">{o.not_taken ?? [ends(o), `${units.distance(o.of.miles)}, ${printedUsd(o.freight_usd)} to haul`, o.of.room_bu ? `room for ${printed(o.of.room_bu)} bu` : '',
                o.break_even_cash_usd && Number(o.net_usd) < best ? `draws level at ${printedUsd(o.break_even_cash_usd)} cash` : '', o.of.stale ? 'heard too long ago to haul on: ask again' : ''].filter(Boolean).join('; ')}</span></p>
          </li>
        ))}
      </ul>
      {(d.best ?? []).length > 0 && <p>By moisture: {d.best!.map((r) => `${r.from_pct} to ${r.to_pct} % ${r.offer === null ? 'nobody takes it' : d.offers[r.offer - 1]!.name}`).join('; ')}.</p>}
      {(d.dry_sell_or_wait?.choices ?? []).length > 1 && <p>For {printed(d.dry_sell_or_wait!.lot_bu)} bu: {d.dry_sell_or_wait!.choices.map((c) => `${c.what} nets ${printedUsd(c.net_usd)}`).join('; ')}.</p>}
      {(d.assumed ?? []).map((a) => <p key={a.what} class="second">Assumed: {a.what}: {a.value} ({a.from}).</p>)}
      {(d.cautions ?? []).map((c) => <p key={c} class="second small">{c}</p>)}
    </>
  );
}

function OneOutlet({ outlet: o, snapshot, today }: { outlet: Outlet; snapshot: FarmSnapshot; today: string }) {
  const units = useUnits();
  const bids = snapshot.bids.filter((b) => b.outlet === o.id).toSorted((a, b) => a.crop.localeCompare(b.crop) || b.at.localeCompare(a.at));
  const contracts = snapshot.contracts.filter((c) => c.outlet === o.id);
  const premiums = snapshot.premiums.filter((p) => p.outlet === o.id);
  const posted = (o.schedules ?? []).map((s) => s.crop);
  const missing = [...new Set(bids.map((b) => b.crop).concat(contracts.map((c) => c.crop)))].filter((c) => !posted.includes(c));
  return (
    <section class="sheet" aria-labelledby={`outlet-${o.id}`}>
      <h2 id={`outlet-${o.id}`}>{o.name}</h2>
      <p class="second num">{o.miles !== null ? `${units.distance(o.miles)} away. ` : ''}{hoursWords(o)}{o.phone ? ` ${o.phone}.` : ''} {o.note}</p>
      {bids.length === 0 && <p>No bid of this outlet.</p>}
      <ul class="num">
        {bids.map((b) => <BidLine key={b.id} bid={b} snapshot={snapshot} today={today} />)}
        {premiums.map((p) => <li key={p.id}><strong>{printedUsd(p.amount_usd)} premium</strong> on {p.crop}{p.until ? `, ${left(p.until, today)}` : ''}{p.cap_bu ? `, up to ${units.grain(p.cap_bu, p.crop)}` : ''}{p.max_moisture_pct ? `, under ${p.max_moisture_pct} %` : ''}</li>)}
        {contracts.map((c) => <li key={c.id}>Contract {c.id}: {printed(c.applied_bu)} of {printed(c.bu)} bu of {c.crop} filled{c.price_usd ? `, at ${printedUsd(c.price_usd)}` : c.basis_usd ? `, basis ${printedUsd(c.basis_usd)}` : ''}{c.until ? `, ${left(c.until, today)}` : ''}</li>)}
      </ul>
      {(o.schedules ?? []).map((s) => (
        <details key={s.crop}>
          <summary>the schedule for {s.crop}, in words and drawn</summary>
          {s.trouble ? <Notice kind="stop" word="Cannot be read."><span>{told(s.trouble)}</span></Notice> : <ul>{(s.words ?? []).map((w) => <li key={w}>{w}</li>)}</ul>}
          {s.curve ? <Pays curve={s.curve} what={`${o.name}, ${s.crop}`} /> : !s.trouble && <p class="second">It is drawn once a bid stands.</p>}
          {(s.profile ?? []).length > 0 && <p class="second">{s.profile!.join(' ')}</p>}
          <p class="second small">From {s.file}, as entered. The buyer’s own posted schedule decides.</p>
          <p><a href={`/outlets/${encodeURIComponent(o.id)}/${s.crop}`}>Change this schedule</a></p>
        </details>
      ))}
      {missing.length > 0 && <Notice kind="caution" word="No schedule."><span>Without the buyer’s posted schedule a load to here cannot be settled. {missing.map((c) => <a key={c} class="gap" href={`/outlets/${encodeURIComponent(o.id)}/${c}`}>Enter it for {c}</a>)}</span></Notice>}
    </section>
  );
}

function BidLine({ bid: b, snapshot, today }: { bid: Bid; snapshot: FarmSnapshot; today: string }) {
  const clock = b.until ? left(b.until, today) : 'names no last day';
  const from = b.cash_usd ? 'cash' : b.futures_usd && b.basis_usd ? `futures ${b.month} ${printedUsd(b.futures_usd)}, basis ${printedUsd(b.basis_usd)}` : '';
  return (
    <li>
      <strong class="wide">{printedUsd(b.price_usd)}</strong> {b.crop}{from ? ` (${from})` : ''}, <strong>{clock}</strong>{b.from && b.from > today ? `, begins ${day(b.from)}` : ''}; heard {age(b.at, snapshot.now)}
      {(b.waits ?? []).length > 0 && <strong>; waits for a look</strong>}
    </li>
  );
}

function hoursWords(o: Outlet): string {
  const open = o.open ?? [];
  if (open.length === 0) return 'Hours not given.';
  const groups: { days: string[]; hours: string }[] = [];
  for (const one of open) {
    const hours = `${one.from} to ${one.until}`;
    const last = groups.at(-1);
    if (last?.hours === hours) last.days.push(one.day);
    else groups.push({ days: [one.day], hours });
  }
  const name = (d: string) => dayNames[d] ?? d;
  return `Open ${groups.map((g) => `${g.days.length > 2 ? `${name(g.days[0]!)} to ${name(g.days.at(-1)!)}` : g.days.map(name).join(', ')} ${g.hours}`).join('; ')}.${(o.closed ?? []).length ? ` Closed ${o.closed!.map(day).join(', ')}.` : ''}`;
}

function OwnBins({ snapshot }: { snapshot: FarmSnapshot }) {
  const units = useUnits();
  return (
    <section class="sheet" aria-labelledby="bins-head">
      <h2 id="bins-head">Own bins</h2>
      <ul class="num">{snapshot.bins.map((b) => <li key={b.id}><strong>{b.name}</strong>: {units.grain(b.in_bu, b.crop)} of {units.grain(b.holds_bu, b.crop)}{b.crop ? ` of ${b.crop}` : ''}{b.max_moisture_pct ? `, up to ${b.max_moisture_pct} %` : ''}{b.dryer ? `, behind ${b.dryer}` : ''}</li>)}</ul>
      <Notice kind="caution" word="Mind."><span>Moving grain buries a person in seconds. Nobody goes into a bin while it is emptied; lock out the unloading first.</span></Notice>
    </section>
  );
}

function AddBid({ snapshot, onDone }: { snapshot: FarmSnapshot; onDone: () => void }) {
  const crops = [...new Set(snapshot.fields.map((f) => f.crop))];
  if (snapshot.outlets.length === 0) return <p>The season names no outlet yet. <a href="/more/settings">Settings</a> has the season file.</p>;
  const items: Item[] = [
    { name: 'outlet', label: 'Outlet', choices: snapshot.outlets.map((o) => [o.id, o.name]), needed: true },
    { name: 'crop', label: 'Crop', choices: crops.map((c) => [c, c]), needed: true },
    { name: 'cash', label: 'Cash price', kind: 'decimal', unit: '$/bu', range: ranges.price, wide: true, hint: 'or futures and basis below' },
    { name: 'futures', label: 'Futures', kind: 'decimal', unit: '$/bu', range: ranges.price },
    { name: 'basis', label: 'Basis', kind: 'decimal', unit: '$/bu', range: ranges.basis, hint: 'under futures: −0.55' },
    { name: 'until', label: 'Last day', kind: 'date', hint: 'left empty: it names none' },
    { name: 'month', label: 'Futures month', hint: 'as Nov' },
    { name: 'from', label: 'First day', kind: 'date', extra: true },
    { name: 'at', label: 'Heard', kind: 'datetime-local', hint: 'left empty: now', extra: true },
  ];
  const dollars = (v: Record<string, string>, key: string) => (v[key]?.trim() ? { [key]: v[key]!.trim().replace('−', '-').replace(/^(-?)\$?/, '$1$') } : {});
  return (
    <Entry name="bid" type="bid" path="/outlets" items={items} button="Save bid" onDone={onDone} extraWord="first day, and when it was heard"
      initial={{ outlet: snapshot.outlets[0]?.id ?? '', crop: crops[0] ?? '', cash: '', futures: '', basis: '', until: '', month: '', from: '', at: snapshot.farm.as_of ? snapshot.now.slice(0, 16) : '' }}
      say={(v) => `Bid of ${v['cash'] ? `$${v['cash']}` : `futures ${v['futures']} and basis ${v['basis']}`} for ${v['crop']}`}
      check={(v) => {
        if (v['cash']?.trim()) return v['futures']?.trim() || v['basis']?.trim() ? { cash: 'Either a cash price, or futures and basis: not both.' } : {};
        if (!v['futures']?.trim() && !v['basis']?.trim()) return { cash: 'Cash price is not filled in, nor futures and basis.' };
        return v['futures']?.trim() ? (v['basis']?.trim() ? {} : { basis: 'Basis is not filled in.' }) : { futures: 'Futures is not filled in.' };
      }}
      body={(v) => ({ ...text(v, 'outlet', 'crop', 'month', 'from', 'until'), ...dollars(v, 'cash'), ...dollars(v, 'futures'), ...dollars(v, 'basis'), ...(v['at'] ? { at: v['at'].replace('T', ' ') } : {}) })} />
  );
}

