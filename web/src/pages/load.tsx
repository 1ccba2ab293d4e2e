// One load: its ticket, what it pays line by line, and everything said of it since.
import { useEffect, useState } from 'preact/hooks';
import { call, type Entry as Said, type Load } from '../api';
import type { FarmSnapshot } from '../app';
import type { Values } from '../parts/entry';
import { Say } from '../parts/say';
import { Settlement } from '../parts/settlement';
import { Notice, Page } from '../parts/ui';
import type { State } from '../sync';
import { number, printed } from '../units';
import { day, when } from '../words';
import { Ticket } from './loads';

export function LoadPage({ id, snapshot, sync }: { id: string; snapshot: FarmSnapshot; sync: State }) {
  const load = (snapshot.loads.loads ?? []).find((l) => l.id === id);
  const [open, setOpen] = useState<'correct' | 'void' | null>(null);
  const kept = sync.outbox.filter((k) => !k.answer && k.command.body['of'] === id);
  if (!load) return <Page title="No such load"><p>The device holds no load of that kind; it keeps the newest. <a href="/loads">All loads</a></p></Page>;
  const where = snapshot.outlets.find((o) => o.id === load.outlet)?.name ?? snapshot.bins.find((b) => b.id === load.outlet)?.name ?? load.outlet;
  const from = (load.fields ?? []).map((f) => snapshot.fields.find((one) => one.id === f)?.name ?? f).join(' and ');
  const w = load.weights;
  return (
    <Page title={load.ticket ? `Ticket ${load.ticket}` : 'Load without a number'} under={<p class="second">{day(load.day)}: {load.crop} from {from || 'no field'} to {where}</p>}>
      {load.void && <Notice kind="caution" word="Taken out."><span>It does not count; it stays readable.</span></Notice>}
      {!load.void && (load.waits ?? []).length > 0 && <Notice kind="caution" word="Waits for a look."><span>{load.counted ? 'It counts.' : 'It does not count yet.'} <a href="/more/waiting">What waits, and why</a></span></Notice>}
      {kept.length > 0 && <Notice><p><strong>Kept on this device, not yet in the office:</strong> {kept.map((k) => k.say).join('; ')}.</p></Notice>}
      <section class="sheet" aria-label="Ticket">
        <dl class="pairs wide">
          <dt>Gross</dt><dd>{w?.gross != null ? `${number(w.gross)} ${w.unit}` : '–'}</dd>
          <dt>Tare</dt><dd>{w?.tare != null ? `${number(w.tare)} ${w.unit}` : '–'}</dd>
          <dt>Net</dt><dd><strong>{load.net_lb !== null ? `${number(load.net_lb)} lb` : load.net_kg !== null ? `${number(load.net_kg)} kg` : '–'}</strong></dd>
          <dt>Moisture</dt><dd>{load.moisture_pct !== null ? `${load.moisture_pct} %` : '–'}</dd>
          <dt>Test weight</dt><dd>{load.test_weight ? `${printed(load.test_weight)} lb/bu` : '–'}</dd>
          <dt>Contract</dt><dd>{load.contract || '–'}</dd>
          <dt>Truck and driver</dt><dd>{[load.truck, load.driver].filter(Boolean).join(', ') || '–'}</dd>
        </dl>
        {load.note && <pre>{load.note}</pre>}
      </section>
      <section class="sheet" aria-labelledby="settle-head">
        <h2 id="settle-head">What it pays</h2>
        {load.settlement?.statement
          ? <Settlement statement={load.settlement.statement} price={load.settlement.price_usd ?? ''} from={load.settlement.price_from ?? ''} />
          : <p>{load.settlement?.why_not ?? 'It is not settled.'}</p>}
      </section>
      {!load.void && (
        <>
          <div class="actions">
            <button type="button" class="button" aria-expanded={open === 'correct'} onClick={() => setOpen(open === 'correct' ? null : 'correct')}>Correct</button>
            <button type="button" class="button" aria-expanded={open === 'void'} onClick={() => setOpen(open === 'void' ? null : 'void')}>Take out</button>
          </div>
          {open === 'correct' && <div class="sheet"><h2>Correct the ticket</h2><Ticket snapshot={snapshot} name={`correct-${load.id}`} amend={{ of: load.id, saw: load.version, was: typed(load) }} onDone={() => setOpen(null)} /></div>}
          {open === 'void' && <div class="sheet"><Say type="void" of={load.id} saw={load.version} button="Take it out" what={`Load ${load.ticket} taken out`} ask="Why it should not count" /></div>}
        </>
      )}
      <History id={load.id} version={load.version + load.void} snapshot={snapshot} />
    </Page>
  );
}

/** typed is a load as it would stand in the boxes of its ticket. */
function typed(l: Load): Values {
  return {
    ticket: l.ticket, outlet: l.outlet, field: l.fields?.length === 1 ? l.fields[0]! : '', split: (l.fields?.length ?? 0) > 1 ? (l.parts ?? l.fields!).join(', ') : '', unit: l.weights?.unit ?? 'lb',
    gross: String(l.weights?.gross ?? ''), tare: String(l.weights?.tare ?? ''), moisture: l.moisture_pct ?? '', test_weight: l.test_weight ?? '',
    contract: l.contract ?? '', truck: l.truck ?? '', driver: l.driver ?? '', note: l.note ?? '', at: l.at?.slice(0, 16) ?? '', why: '', ...l.quality,
  };
}

/** History is everything said of one record; it stands at the office alone. */
function History({ id, version, snapshot }: { id: string; version: string; snapshot: FarmSnapshot }) {
  const [entries, set] = useState<Said[] | null>(null);
  const [again, look] = useState(0);
  useEffect(() => {
    call<{ entries: Said[] }>(`/api/entries/${encodeURIComponent(id)}/history`).then((got) => set(got.entries), () => set(null));
  }, [id, version, again, snapshot.head.seq]);
  if (!entries) return <p class="second">What was said of this load stands at the farm’s computer.</p>;
  return (
    <section class="sheet" aria-labelledby="history-head">
      <h2 id="history-head">History</h2>
      <ol>
        {entries.map((e) => {
          const [, act] = e.kind.split('.');
          return (
            <li key={e.id}>
              {actWords[act ?? ''] ?? act} {when(e.at, snapshot.farm.zone)}{e.by ? ` by ${e.by}` : ''}{e.say ? `: ${e.say}` : ''}
              {['corrected', 'voided', 'merged', 'kept'].includes(act ?? '') && <> <Undo of={e.id} onSaid={() => look(again + 1)} /></>}
            </li>
          );
        })}
      </ol>
      <p class="second small">Nothing is overwritten: each line is an entry of its own.</p>
    </section>
  );
}
const actWords: Record<string, string> = { recorded: 'Entered', corrected: 'Corrected', voided: 'Taken out', merged: 'Merged', kept: 'Looked at and kept', 'set-aside': 'Taken back' };

function Undo({ of, onSaid }: { of: string; onSaid: () => void }) {
  const [open, setOpen] = useState(false);
  if (!open) return <button type="button" class="link" onClick={() => setOpen(true)}>Take this back</button>;
  return <Say type="undo" of={of} button="Take it back" what="An entry taken back" ask="Why" onSaid={onSaid} />;
}
