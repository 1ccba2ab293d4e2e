// The day sheet: the morning's answer for all fields, most dollars at stake first.
import { useEffect, useState } from 'preact/hooks';
import { told, type Advice, type Changed, type Choice, type DaySheet, type Hauling, type Order, type TruckLoad, type Window } from '../api';
import type { FarmSnapshot } from '../app';
import { More, Notice, Page, RowOpener, Scroll, useMedia } from '../parts/ui';
import { dismiss, dismissed, useUnits } from '../settings';
import { planAgain, stopPlan, type State } from '../sync';
import { pct, signedUsd, usd } from '../units';
import { addDays, age, capital, clock, count, day, dayOf, days, hour, odds, tight, when } from '../words';

/** best is the wait that is worth most against cutting today. */
export function best(choices: Choice[] | null | undefined): Choice | undefined {
  return choices?.filter((c) => c.wait_days > 0).reduce<Choice | undefined>((a, b) => (!a || b.usd_per_acre > a.usd_per_acre ? b : a), undefined);
}
const stake = (a: Advice) => Math.max(0, ...(a.choices ?? []).map((c) => Math.abs(c.usd)));

/** adviceWords says what to do with a field, in its row. */
export function adviceWords(a: Advice): string {
  if (a.advice === 'cannot') return 'cannot be cut';
  const b = best(a.choices);
  const fit = a.choices?.find((c) => c.wait_days === 0)?.odds_under_limit;
  if (a.advice === 'wait' && fit !== undefined && fit < 0.25) return 'wait: not fit yet';
  if (a.toss_up) return a.advice === 'cut' ? 'cut, a toss-up' : `wait ${days(b?.wait_days ?? 1)}, a toss-up`;
  return a.advice === 'cut' ? 'cut today' : `wait ${days(b?.wait_days ?? 1)}`;
}

/** A plan is made by itself when there is none of this day, unless the last try was stopped or failed. */
function useMorningPlan(snapshot: FarmSnapshot, connected: boolean): void {
  const { plan, job, farm } = snapshot;
  const none = !plan || dayOf(plan.sheet.as_of, farm.zone) < dayOf(snapshot.now, farm.zone);
  const due = none && connected && job.state === 'idle' && !snapshot.read_only && snapshot.fields.length > 0;
  useEffect(() => { if (due) void planAgain(); }, [due]);
}

export function Today({ snapshot, sync }: { snapshot: FarmSnapshot; sync: State }) {
  const { farm, plan } = snapshot;
  const zone = farm.zone;
  const today = dayOf(plan?.sheet.as_of ?? snapshot.now, zone);
  useMorningPlan(snapshot, sync.connected && sync.syncedAt !== null);
  return (
    <Page title={day(today)} under={<p class="second">{farm.name}, {farm.place}. {snapshot.demo && 'Nothing entered on this invented farm is kept. '}{ages(snapshot)}</p>}>
      <PlanLine snapshot={snapshot} />
      {plan ? <Sheet key={plan.id} snapshot={snapshot} sheet={plan.sheet} today={today} /> : <NoPlan snapshot={snapshot} />}
    </Page>
  );
}

function ages(s: FarmSnapshot): string {
  const weather = s.weather.outlook_at ? `Outlook days entered ${age(s.weather.outlook_at, s.now)}` : 'No outlook days entered';
  const bids = s.bids_at.newest ? `bids heard ${age(s.bids_at.newest, s.now)}` : 'no bids';
  return `${weather}, ${bids}.`;
}

function PlanLine({ snapshot }: { snapshot: FarmSnapshot }) {
  const { job, plan } = snapshot;
  if (job.state === 'running') {
    return (
      <div class="sheet" id="planning">
        <p role="status"><strong>Planning.</strong> {job.say}{job.say?.endsWith('.') ? '' : '…'}</p>
        <progress max={100} value={job.percent ?? 0} aria-label="How far the plan is" />
        <div class="actions"><button type="button" class="button" onClick={() => void stopPlan()}>Stop planning</button></div>
      </div>
    );
  }
  return (
    <>
      {job.state === 'failed' && job.error && <Notice kind="stop" word="Not planned." live><span>{told(job.error)}</span></Notice>}
      {job.state === 'stopped' && <Notice live><p>Planning was stopped. What stands here is the last plan.</p></Notice>}
      {plan && (
        <p class="second" id="plan" data-plan={plan.id}>
          Planned {when(plan.at, snapshot.farm.zone)}.{' '}
          {plan.behind > 0 && <strong>{count(plan.behind, 'entry has', 'entries have')} come in since. </strong>}
        </p>
      )}
      <div class="actions">
        <button type="button" class={`button ${!plan || plan.behind > 0 ? 'primary' : ''}`} onClick={() => void planAgain()}>{plan ? 'Plan again' : 'Plan'}</button>
        {plan && <a class="button" href="/print/day-sheet">Print</a>}
      </div>
    </>
  );
}

function NoPlan({ snapshot }: { snapshot: FarmSnapshot }) {
  return (
    <div class="sheet">
      <h2>{snapshot.job.state === 'running' ? 'The first plan is being made' : 'No plan yet'}</h2>
      <p>The plan weighs {count(snapshot.fields.length, 'field')} against {count(snapshot.outlets.length, 'outlet')} in a hundred weathers, and says for each field whether to cut or to wait, and what that is worth.</p>
      <p>It is better with a reading of each field, today’s bids and a few <a href="/more/outlook">outlook days</a>. Plan again whenever one has come in.</p>
    </div>
  );
}

function Sheet({ snapshot, sheet, today }: { snapshot: FarmSnapshot; sheet: DaySheet; today: string }) {
  const beside = useMedia('(min-width: 72rem)');
  const fields = sheet.fields.toSorted((a, b) => stake(b) - stake(a));
  const [open, setOpen] = useState<string | null>(beside ? fields[0]?.field ?? null : null);
  const shown = fields.find((f) => f.field === open);
  return (
    <>
      {(sheet.stale ?? []).map((old) => <Notice key={old} kind="caution" word="Old."><span>{old}</span></Notice>)}
      {sheet.window && <WindowLine window={sheet.window} />}
      <div class="two">
        <section aria-labelledby="fields-head">
          <h2 id="fields-head">Cut or wait</h2>
          <p class="second small">Dollars are for waiting, against cutting today: plus, waiting pays; minus, it costs. Most at stake first.</p>
          <ul class="rows">
            {fields.map((a) => (
              <li key={a.field}>
                <FieldRow advice={a} open={open === a.field} onPress={() => setOpen(open === a.field && !beside ? null : a.field)}>
                  {!beside && <Opened advice={a} snapshot={snapshot} sheet={sheet} today={today} />}
                </FieldRow>
              </li>
            ))}
          </ul>
        </section>
        {beside && shown && (
          <section class="beside" id={`open-${shown.field}`} aria-label={shown.name} tabIndex={0}>
            <h2>{shown.name}</h2>
            <Opened advice={shown} snapshot={snapshot} sheet={sheet} today={today} />
          </section>
        )}
      </div>
      <Orders snapshot={snapshot} sheet={sheet} />
      {sheet.hauling && <LoadsOfDay hauling={sheet.hauling} snapshot={snapshot} />}
      {snapshot.changed && <ChangedSince changed={snapshot.changed} snapshot={snapshot} />}
      <SeasonSum sheet={sheet} />
      <Foot sheet={sheet} today={today} snapshot={snapshot} />
    </>
  );
}

function WindowLine({ window: w }: { window: Window }) {
  if (w.opens_h === undefined || w.closes_h === undefined) {
    return <div class="sheet"><p class="wide"><strong>Hardly a working hour today:</strong> {odds(w.odds_open)} that any field opens.</p></div>;
  }
  const band = (a?: number, b?: number) => (a !== undefined && b !== undefined && hour(a) !== hour(b) ? ` (8 in 10: ${hour(a)} to ${hour(b)})` : '');
  return (
    <div class="sheet">
      <p class="wide num">Opens about <strong>{hour(w.opens_h)}</strong>{band(w.opens_p10_h, w.opens_p90_h)}, closes about <strong>{hour(w.closes_h)}</strong>{band(w.closes_p10_h, w.closes_p90_h)}.</p>
      <p class="second">{capital(odds(w.odds_open))} that any field opens today.</p>
    </div>
  );
}

function FieldRow({ advice: a, open, onPress, children }: { advice: Advice; open: boolean; onPress: () => void; children?: preact.ComponentChildren }) {
  const units = useUnits();
  const b = best(a.choices);
  return (
    <RowOpener
      id={a.field} name={a.name} open={open} onPress={onPress} middle={adviceWords(a)} say={tight(a.reason ?? a.because)}
      figure={b ? units.perArea(b.usd_per_acre) : '–'} unit={b ? `an ${units.areaUnit === 'ha' ? 'hectare' : 'acre'}` : ''}
    >{children}</RowOpener>
  );
}

/** Opened is a field's answer with the figures behind it. */
function Opened({ advice: a, snapshot, sheet, today }: { advice: Advice; snapshot: FarmSnapshot; sheet: DaySheet; today: string }) {
  const units = useUnits();
  const name = (id: string) => snapshot.outlets.find((o) => o.id === id)?.name ?? snapshot.bins.find((b) => b.id === id)?.name ?? id;
  return (
    <>
      <p>{tight(a.because)}{a.looked_ahead ? ` ${tight(a.looked_ahead)}` : ''}</p>
      {a.moisture && <p class="num">Stands at <strong>{pct(a.moisture.mean_pct)}</strong>, 8 in 10 between {pct(a.moisture.p10_pct)} and {pct(a.moisture.p90_pct)}; your limit is {pct(a.limit_pct, a.limit_pct % 1 ? 1 : 0)}. {units.area(a.acres_left)} of {a.crop} to cut.</p>}
      {a.choices && <Choices advice={a} today={today} />}
      <Turns advice={a} />
      {(a.goes ?? []).length > 0 && (
        <><h3>Where it would go</h3>
          <ul>{a.goes!.map((g) => <li key={g.to + g.contract}>{Math.round(g.share * 100)} % to {name(g.to)}{g.contract ? `, contract ${g.contract}` : ''}{g.net_usd_per_bu !== undefined ? `, ${units.price(g.net_usd_per_bu, a.crop)} net a wet ${units.priceUnit(a.crop) === 't' ? 'tonne' : 'bushel'}` : ''}</li>)}</ul></>
      )}
      <h3>How it was made</h3>
      <ul>
        {(a.readings ?? []).map((r) => <li key={r.what}>Measured: {r.what} moved the field from {pct(r.before_pct)} to {pct(r.after_pct)}{r.doubted ? '; doubted, so it counted less' : ''}{r.used ? '' : '; not used'}.</li>)}
        {(a.maturity ?? []).map((m) => <li key={m}>Maturity: {m}</li>)}
        {!(a.readings ?? []).length && <li>No reading of this field: its moisture is forecast from weather and maturity alone.</li>}
        <li>Forecast: {sheet.weather}.</li>
      </ul>
      <div class="actions"><a class="button" href={`/fields/${encodeURIComponent(a.field)}`}>Open {a.name}</a></div>
    </>
  );
}

/** Turns says what would change a field's answer, and what was looked into and would not. */
export function Turns({ advice: a }: { advice: Advice }) {
  const [flips, holds] = [a.flips ?? [], a.holds ?? []];
  if (flips.length + holds.length === 0) return null;
  return <><h3>What would change the answer</h3><ul>{flips.map((f) => <li key={f.if}>If {f.if}: <strong>{f.then}</strong></li>)}{holds.map((h) => <li key={h}>The same {h}.</li>)}</ul></>;
}

export function Choices({ advice: a, today }: { advice: Advice; today: string }) {
  const units = useUnits();
  const acres = a.acres_left || 1;
  return (
    <>
      <Scroll label={`Waiting with ${a.name}`}>
        <table class="tight">
          <thead><tr><th scope="col">Cut</th><th scope="col">Worth, $/{units.areaUnit}</th><th scope="col">8 in 10</th><th scope="col" class="text odds">Odds it can be cut</th></tr></thead>
          <tbody>
            {a.choices!.map((c) => (
              <tr key={c.wait_days}>
                <th scope="row">{c.wait_days === 0 ? 'today' : day(addDays(today, c.wait_days))}<span class="beneath">{c.odds_under_limit === undefined ? '' : `fit: ${odds(c.odds_under_limit)}`}</span></th>
                <td><strong>{units.perArea(c.usd_per_acre)}</strong></td>
                <td class="range">{c.wait_days === 0 ? '–' : `${units.perArea(c.p10_usd / acres)} to ${units.perArea(c.p90_usd / acres)}`}</td>
                <td class="text odds">{c.odds_under_limit === undefined ? '–' : odds(c.odds_under_limit)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
      <More what="the whole field in dollars, and exact odds">
        <Scroll label={`Waiting with ${a.name}, exactly`}>
          <table>
            <thead><tr><th scope="col">Cut</th><th scope="col">Field, $</th><th scope="col">Error of it</th><th scope="col">Can be cut that day</th><th scope="col">Cut by {a.choices![0]?.deadline ? day(a.choices![0].deadline) : 'the deadline'}</th></tr></thead>
            <tbody>
              {a.choices!.map((c) => (
                <tr key={c.wait_days}>
                  <th scope="row">{c.wait_days === 0 ? 'today' : day(addDays(today, c.wait_days))}</th>
                  <td>{signedUsd(c.usd)}</td><td>{c.wait_days === 0 ? '–' : `± ${usd(2 * c.se_usd)}`}</td>
                  <td>{chance(c.odds_under_limit)}</td><td>{chance(c.odds_by_deadline)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      </More>
    </>
  );
}

// A hundred weathers know nothing of the last one in a hundred.
const chance = (p: number | undefined) => (p === undefined ? '–' : p > 0.985 ? 'over 98 in 100' : p < 0.015 ? 'under 2 in 100' : `${Math.round(p * 100)} in 100`);

function Orders({ snapshot, sheet }: { snapshot: FarmSnapshot; sheet: DaySheet }) {
  const orders = sheet.orders ?? [];
  const machines = [...new Set(orders.map((o) => o.machine))];
  const machine = (id: string) => snapshot.machines.find((m) => m.id === id);
  return (
    <section aria-labelledby="orders-head">
      <h2 id="orders-head">Orders by machine</h2>
      {sheet.earlier_orders && <p>{sheet.earlier_orders.say}</p>}
      {orders.length === 0 && <p>No machine has a field today.</p>}
      {machines.map((id) => (
        <div class="sheet" key={id}>
          <h3>{machine(id)?.name ?? id}</h3>
          {machine(id)?.service_due && <Notice kind="caution" word="Before it starts:"><span>{machine(id)!.service_due}</span></Notice>}
          <ol class="plain">{orders.filter((o) => o.machine === id).map((o) => <OneOrder key={o.from} order={o} snapshot={snapshot} />)}</ol>
        </div>
      ))}
    </section>
  );
}

function OneOrder({ order: o, snapshot }: { order: Order; snapshot: FarmSnapshot }) {
  const units = useUnits();
  const field = snapshot.fields.find((f) => f.id === o.field);
  const crop = field?.crop ?? '';
  const name = (id: string) => snapshot.outlets.find((x) => x.id === id)?.name ?? snapshot.bins.find((b) => b.id === id)?.name ?? id;
  const ways = new Map<string, { loads: number; bushels: number; price: number | undefined }>();
  for (const l of o.loads ?? []) {
    const key = name(l.to) + (l.contract ? `, contract ${l.contract}` : '');
    const way = ways.get(key) ?? { loads: 0, bushels: 0, price: l.net_usd_per_bu };
    ways.set(key, { ...way, loads: way.loads + 1, bushels: way.bushels + l.bushels });
  }
  return (
    <li>
      <p class="num"><strong>{clock(o.from, snapshot.farm.zone)} to {clock(o.to, snapshot.farm.zone)} · {field?.name ?? o.field}</strong><br />{units.area(o.acres)}, {units.grain(o.bushels, crop)}. {o.entrance && <>In by {o.entrance.replace(/\.$/, '')}.</>}</p>
      <ul>{[...ways].map(([to, w]) => <li key={to}>{count(w.loads, 'load')} ({units.grain(w.bushels, crop)}) to {to}{w.price !== undefined && crop ? `, ${units.price(w.price, crop)} net a wet ${units.priceUnit(crop) === 't' ? 'tonne' : 'bushel'}` : ''}</li>)}</ul>
      <p class="second">{o.why}</p>
    </li>
  );
}

/** LoadsOfDay is each truck's loads with their times, and where the day stalls. */
function LoadsOfDay({ hauling, snapshot }: { hauling: Hauling; snapshot: FarmSnapshot }) {
  const loads = hauling.loads ?? [];
  if (loads.length === 0) return null;
  return (
    <section class="sheet" aria-labelledby="hauling-head">
      <h2 id="hauling-head">Loads by truck</h2>
      {(hauling.say ?? []).map((s) => <p key={s}>{s}</p>)}
      {[...new Set(loads.map((l) => l.truck_name))].map((truck) => {
        const its = loads.filter((l) => l.truck_name === truck);
        return <More key={truck} what={`${truck}, ${count(its.length, 'load')}`}><ol class="plain">{its.map((l) => <OneLoad key={l.number} load={l} snapshot={snapshot} />)}</ol></More>;
      })}
      <p class="second small">Times are the middle of {count(hauling.draws, 'draw')} of the waiting at each scale; 8 in 10 lie in the brackets. Legal weight is the state’s to say: the scale decides, not the list.</p>
    </section>
  );
}

function OneLoad({ load: l, snapshot }: { load: TruckLoad; snapshot: FarmSnapshot }) {
  const units = useUnits();
  const zone = snapshot.farm.zone;
  const crop = snapshot.fields.find((f) => f.id === l.field)?.crop ?? '';
  const band = (a?: string, b?: string) => (a && b && a !== b ? ` (${clock(a, zone)} to ${clock(b, zone)})` : '');
  return (
    <li value={l.number}>
      <p class="num"><strong>{l.leaves ? `${clock(l.leaves, zone)} ` : ''}{l.field_name} to {l.to_name}{l.contract && !l.to_name.includes(l.contract) ? `, contract ${l.contract}` : ''}</strong>, {units.grain(l.bushels, crop)}<br />
        {l.overnight ? 'Stays on the truck overnight.' : <>Leaves{l.leaves ? ` about ${clock(l.leaves, zone)}${band(l.leaves_p10, l.leaves_p90)}` : ''}{l.at_scale ? `, at the scale about ${clock(l.at_scale, zone)}${band(l.at_scale_p10, l.at_scale_p90)}` : ''}{l.back ? `, back about ${clock(l.back, zone)}` : ''}.</>}
        {l.entrance && <> In by {l.entrance.replace(/\.$/, '')}.</>}{l.road && <> {l.road}</>}{l.tell_the_scale && <> At the scale: {l.tell_the_scale}</>}</p>
    </li>
  );
}

function ChangedSince({ changed, snapshot }: { changed: Changed; snapshot: FarmSnapshot }) {
  const units = useUnits();
  const moved = changed.season_usd - changed.season_usd_was;
  const name = (id: string) => snapshot.fields.find((f) => f.id === id)?.name ?? id;
  return (
    <section aria-labelledby="changed-head" class="sheet" id="changed">
      <h2 id="changed-head">What changed since {when(changed.since, snapshot.farm.zone)}</h2>
      {(changed.because ?? []).length > 0 ? <ul>{changed.because!.map((b) => <li key={b}>{b}</li>)}</ul> : <p>Nothing was entered in between.</p>}
      <p class="num">The season: {usd(changed.season_usd_was)} then, <strong>{usd(changed.season_usd)}</strong> now ({signedUsd(moved)}).</p>
      {(changed.fields ?? []).length === 0 && <p>No field’s answer moved.</p>}
      <ul>
        {(changed.fields ?? []).map((f) => (
          <li key={f.field}>
            <strong>{name(f.field)}</strong>: {f.advice_was === f.advice ? f.advice : <>was {f.advice_was}, now <strong>{f.advice}</strong></>}; best wait {days(f.wait_days_was)} at {units.perArea(f.usd_per_acre_was)}, now {days(f.wait_days)} at {units.perArea(f.usd_per_acre)} a{units.areaUnit === 'ha' ? ' hectare' : 'n acre'}
            {f.moisture_pct !== null && f.moisture_was_pct !== null && <>; moisture {pct(f.moisture_was_pct)} to {pct(f.moisture_pct)}</>}
            {(f.because ?? []).length > 0 && <> ({f.because!.join('; ')})</>}.
          </li>
        ))}
      </ul>
    </section>
  );
}

function SeasonSum({ sheet }: { sheet: DaySheet }) {
  const s = sheet.season;
  if (!s) return null;
  return (
    <section class="sheet" aria-labelledby="season-head">
      <h2 id="season-head">The season</h2>
      <p class="num">About <span class="money">{usd(s.expected_usd)}</span> to come, 8 in 10 between {usd(s.p10_usd)} and {usd(s.p90_usd)}; after hauling and machines, landlords’ shares included.</p>
      {(s.cannot ?? []).length > 0 && <Notice kind="caution" word="What will not be met."><ul>{s.cannot!.map((c) => <li key={c}>{c}</li>)}</ul></Notice>}
      <More what="the rule, simpler rules, and what one more would earn">
        {s.plan_rule && <p>The plan: {s.plan_rule}.</p>}
        {s.gap_to_foresight_pct !== undefined && <p>Knowing every hour of weather to come could earn at most about {pct(s.gap_to_foresight_pct)} more.</p>}
        <ul>
          {(s.rules ?? []).map((r) => <li key={r.rule}>{capital(r.rule)}: {usd(r.expected_usd)}, {usd(r.less_usd)} less (give or take {usd(2 * r.se_usd)})</li>)}
          {(s.one_more ?? []).map((o) => <li key={o.of}>One more {o.of} would earn about {usd(o.usd)} over the season</li>)}
        </ul>
        {s.margins_say && <p>{tight(s.margins_say)}</p>}
      </More>
    </section>
  );
}

function Foot({ sheet, today, snapshot }: { sheet: DaySheet; today: string; snapshot: FarmSnapshot }) {
  const [gone, setGone] = useState(() => dismissed(today));
  const cautions = (sheet.cautions ?? []).filter((c) => !gone.has(c));
  return (
    <>
      {cautions.length > 0 && (
        <section aria-labelledby="mind-head">
          <h2 id="mind-head">Mind today</h2>
          {cautions.map((c) => (
            <Notice key={c} kind="caution" word="Mind.">
              <p>{c}</p>
              <button type="button" class="link" aria-label={`Seen for today: ${c}`} onClick={() => { dismiss(today, c); setGone(dismissed(today)); }}>Seen for today</button>
            </Notice>
          ))}
        </section>
      )}
      <section class="sheet" aria-labelledby="stands-head">
        <h2 id="stands-head">What it stands on</h2>
        <p>{capital(sheet.weather)}.</p>
        <p class="second">{snapshot.farm.weather_credit}</p>
        {(sheet.assumed ?? []).length > 0 && (
          <More what={`${count(sheet.assumed!.length, 'thing')} assumed, because nobody entered it`}>
            <ul>{sheet.assumed!.map((a) => <li key={a.what + a.value}><strong>{a.what}</strong>: {a.value} <span class="second">({a.from})</span></li>)}</ul>
          </More>
        )}
        {(sheet.not_used ?? []).length > 0 && <p class="second">Kept, but nothing here depends on it yet: {sheet.not_used!.join(', ')}.</p>}
      </section>
    </>
  );
}
