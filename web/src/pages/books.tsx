// The books: what the season's tickets add up to. Every figure opens to the tickets that make it.
import { useEffect, useState } from 'preact/hooks';
import { type Books, type BooksCheck, NoServer, Told, type Trail, type TrailTicket, call } from '../api';
import type { FarmSnapshot } from '../app';
import { Notice, Page, RowOpener } from '../parts/ui';
import { useKept } from '../sync';
import { number, printed, printedUsd } from '../units';
import { capital, count, day, left, dayOf, when } from '../words';

export function BooksPage({ snapshot }: { snapshot: FarmSnapshot }) {
  const [party, setParty] = useState('');
  const books = useKept(party ? `/api/books?party=${encodeURIComponent(party)}` : '/api/books', String(snapshot.head.seq));
  const b = books.document;
  return (
    <Page title="Books" under={<p class="second">{b ? `${b.farm}: ${count(b.loads, 'load')} as of ${when(b.as_of, snapshot.farm.zone)}.` : 'What the season’s tickets add up to.'}</p>}>
      {b?.example && <Notice word="An example."><span>These are the books the invented farm will have some weeks on. They give way to your own with the first load entered here.</span></Notice>}
      {snapshot.parties.length > 1 && (
        <div class="sheet">
          <div class="box"><label for="books-party">Whose books</label>
            <div class="in"><select id="books-party" value={party} onInput={(e) => setParty(e.currentTarget.value)}>
              <option value="">everybody’s</option>{snapshot.parties.map((p) => <option key={p.id} value={p.id}>{p.name}{p.role ? `, ${p.role}` : ''}</option>)}
            </select></div>
            <p class="hint">A party’s books hold his share alone, to print for him or read out to him.</p>
          </div>
        </div>
      )}
      {!b && <p role="status">{books.trouble ? `${books.trouble.say} ${books.trouble.next ?? ''}` : books.away ? 'The books are not on this device yet; they come when the farm’s computer answers.' : 'Fetching the books…'}</p>}
      {b && b.loads === 0 && <div class="sheet"><h2>No load yet</h2><p>Each <a href="/loads">load</a> you save is settled by its buyer’s posted schedule, fills its contract, and is shared among its owners. The sums stand here.</p></div>}
      {b && b.loads > 0 && <Parts books={b} snapshot={snapshot} party={party} />}
    </Page>
  );
}

function Parts({ books: b, snapshot, party }: { books: Books; snapshot: FarmSnapshot; party: string }) {
  const name = (list: { id: string; name: string }[], id: string) => list.find((one) => one.id === id)?.name ?? id;
  const place = (id: string) => name([...snapshot.outlets, ...snapshot.bins], id);
  const field = (id: string) => name(snapshot.fields, id);
  const whose = (id: string) => name(snapshot.parties, id);
  const today = dayOf(b.as_of, snapshot.farm.zone);
  const sums = { party, snapshot };
  return (
    <>
      <Checks checks={b.checks} more={b.checks_more} />
      {(b.contracts ?? []).length > 0 && (
        <Part id="contracts" title="Contracts">
          {b.contracts!.map((c) => (
            <Figure key={c.id} {...sums} of={`contract:${c.id}`} name={`${place(c.outlet)} ${c.id}`} figure={`${printed(c.filled_bu)}`} unit={`of ${printed(c.promised_bu)} bu`}
              middle={c.bought_out ? 'bought out' : c.closed ? 'filled' : `${printed(c.left_bu)} bu to go${c.until ? `, ${left(c.until, today)}` : ''}`}
              say={[capital(c.crop), c.price_usd_per_bu ? `at ${printedUsd(c.price_usd_per_bu)}` : c.open?.length ? `${c.open.join(' and ')} still open${c.price_by ? `, to be priced by ${day(c.price_by)}` : ''}` : '',
                c.value_usd ? `value ${printedUsd(c.value_usd)}, net ${printedUsd(c.net_usd)}` : '', !c.closed && c.buy_out_usd ? `buying out what is left would cost ${printedUsd(c.buy_out_usd)} at today’s bid` : ''].filter(Boolean).join('; ') + '.'} />
          ))}
        </Part>
      )}
      {(b.promises ?? []).some((p) => Number(p.short_bu) > 0) && b.promises!.filter((p) => Number(p.short_bu) > 0).map((p) => (
        <Notice key={p.party + p.crop} kind="caution" word="Promised too much."><span>{whose(p.party)} has {printed(p.promised_bu)} bu of {p.crop} under contract and can count on {printed(p.counted_on_bu)} bu in a poor year beside what is delivered: {printed(p.short_bu)} bu short.</span></Notice>
      ))}
      {(b.yields ?? []).length > 0 && (
        <Part id="yields" title="What each field made">
          {b.yields!.map((y) => (
            <Figure key={y.field + y.crop} {...sums} of={`field:${y.field}`} name={field(y.field)} figure={y.bu_per_acre ? printed(y.bu_per_acre) : '–'} unit="bu an acre"
              middle={`${capital(y.crop)}, ${count(y.loads, 'load')}`}
              say={`${printed(y.dry_bu)} bu at ${y.base_pct} % from ${number(y.acres)} acres${y.whole ? '' : '; more is still to come in'}${y.without_moisture ? `; ${count(y.without_moisture, 'load has', 'loads have')} no moisture and stand outside the yield` : ''}.`} />
          ))}
        </Part>
      )}
      {(b.bins ?? []).length > 0 && (
        <Part id="bins" title="Bins">
          {b.bins!.map((n) => (
            <Figure key={n.bin} {...sums} of={`bin:${n.bin}`} name={place(n.bin)} figure={printed(n.now_bu)} unit={`bu${n.base_pct ? ` at ${n.base_pct} %` : ''}`}
              middle={capital(n.crop)} say={`${printed(n.opening_bu)} bu to begin with, ${printed(n.in_bu)} in, ${printed(n.out_bu)} out. ${lifeWords(n.life)}`} />
          ))}
          <li class="pad"><Notice kind="caution" word="Mind."><span>Moving grain buries a person in seconds. Nobody goes into a bin while it is emptied; lock out the unloading first.</span></Notice></li>
        </Part>
      )}
      {(b.shares ?? []).length > 0 && (
        <Part id="shares" title="Shares">
          {b.shares!.map((s) => {
            const binned = Number(s.in_bin_bu) > 0;
            return (
              <Figure key={s.party + s.place + s.crop} {...sums} party={s.party} of={`${binned ? 'bin' : 'outlet'}:${s.place}`} name={`${whose(s.party)} at ${place(s.place)}`} figure={binned ? printed(s.in_bin_bu) : printedUsd(s.net_usd)} unit={binned ? 'bu' : 'net'}
                middle={capital(s.crop)}
                say={binned ? 'In the bin.' : `${printed(s.sold_bu)} bu sold${Number(s.claim_bu) ? `, ${printed(s.claim_bu)} delivered and not priced` : ''}: value ${printedUsd(s.value_usd)}, checkoff ${printedUsd(s.checkoff_usd)}, charges ${printedUsd(s.charges_usd)}.`} />
            );
          })}
        </Part>
      )}
      <Cheques books={b} place={place} whose={whose} />
      <Audit books={b} place={place} />
      {(b.assumed ?? []).length > 0 && <section class="sheet" aria-labelledby="books-assumed"><h2 id="books-assumed">Assumed</h2><ul>{b.assumed!.map((a) => <li key={a.what + a.value}>{a.what}: {a.value} ({a.from})</li>)}</ul></section>}
      {(b.cautions ?? []).map((c) => <Notice key={c} kind="caution" word="Mind."><span>{c}</span></Notice>)}
    </>
  );
}

function lifeWords(life: NonNullable<Books['bins']>[number]['life']): string {
  if (!life) return '';
  if (life.not_known) return `How long it keeps is not known: ${life.not_known.split(';')[0]}.`;
  const wet = life.load ? `The load that keeps worst, ticket ${life.load} at ${life.moisture_pct} %,` : 'The grain that keeps worst';
  return `${wet} has used about ${number(life.used_pct ?? 0)} % of its storage life${life.days_left != null && !life.over_300 ? `, with about ${number(life.days_left)} days left at ${number(life.grain_f ?? 0)} °F` : ''}.`;
}

function Part({ id, title, children }: { id: string; title: string; children: preact.ComponentChildren }) {
  return <section aria-labelledby={`books-${id}`}><h2 id={`books-${id}`}>{title}</h2><ul class="rows">{children}</ul></section>;
}

/** Figure is a row that opens to the tickets behind it. */
function Figure({ of, party, snapshot, ...row }: { of: string; party: string; snapshot: FarmSnapshot; name: string; figure: string; unit: string; middle: string; say: string }) {
  const [open, set] = useState(false);
  const id = `books-${party}-${of}`.replace(/[^\w-]/g, '-');
  return <li><RowOpener {...row} id={id} open={open} onPress={() => set(!open)}><Tickets of={of} party={party} snapshot={snapshot} /></RowOpener></li>;
}

function Tickets({ of, party, snapshot }: { of: string; party: string; snapshot: FarmSnapshot }) {
  const [got, set] = useState<Trail | string | null>(null);
  useEffect(() => {
    let gone = false;
    call<Trail>(`/api/books/trace?figure=${encodeURIComponent(of)}${party ? `&party=${encodeURIComponent(party)}` : ''}`)
      .then((t) => { if (!gone) set(t); }, (err: unknown) => {
        if (!gone) set(err instanceof Told ? `${err.trouble.say} ${err.trouble.next ?? ''}` : err instanceof NoServer ? 'The tickets come when the farm’s computer answers.' : String(err));
      });
    return () => { gone = true; };
  }, [of, party, snapshot.head.seq]);
  if (got === null) return <p role="status">Fetching the tickets…</p>;
  if (typeof got === 'string') return <p>{got}</p>;
  if (got.tickets.length === 0) return <p>No ticket yet.</p>;
  return (
    <>
      <p class="num"><strong>{count(got.loads, 'ticket')}</strong>: {printed(got.settle_lb)} lb settled{Number(got.settled_bu) ? `, ${printed(got.settled_bu)} bu` : ''}{Number(got.net_usd) ? `, net ${printedUsd(got.net_usd)}` : ''}.{got.more > 0 ? ` The newest ${got.tickets.length} are shown.` : ''}</p>
      <ul class="plainlist">{got.tickets.map((t) => <li key={t.id}><Ticket ticket={t} snapshot={snapshot} /></li>)}</ul>
    </>
  );
}

function Ticket({ ticket: t, snapshot }: { ticket: TrailTicket; snapshot: FarmSnapshot }) {
  const to = [...snapshot.outlets, ...snapshot.bins].find((o) => o.id === t.to)?.name ?? t.to;
  const lines = (t.settlement ?? []).flatMap((s) => s.lines ?? []);
  return (
    <>
      <p class="num"><strong>Ticket {t.ticket}</strong>, {day(t.day)}, to {to}: {printed(t.net_lb)} lb net{t.moisture_pct ? ` at ${t.moisture_pct} %` : ''}, {printed(t.settle_lb)} lb settled.
        {(t.sales ?? []).map((s) => ` ${printed(s.bu)} bu ${s.contract ? `on ${s.contract}` : 'at the bid'}${s.cash_usd ? ` at ${printedUsd(s.cash_usd)}` : ''}: net ${printedUsd(s.net_usd)}.`)}</p>
      {lines.length > 0 && <details><summary>ticket {t.ticket}, line by line</summary><ul class="num">{lines.map((l, i) => <li key={i}>{l.say}{Number(l.usd) ? `: ${printedUsd(l.usd)}` : Number(l.lb) ? `: ${printed(l.lb)} lb` : ''}</li>)}</ul></details>}
    </>
  );
}

function Checks({ checks, more }: { checks: BooksCheck[] | null; more: number }) {
  const all = checks ?? [];
  if (all.length === 0) return <Notice word="It all adds up."><span>No check found a difference in these books.</span></Notice>;
  const wrong = all.filter((c) => c.severity === 'error');
  return (
    <section class="sheet" aria-labelledby="books-checks">
      <h2 id="books-checks">{wrong.length ? `${count(wrong.length + more, 'thing does', 'things do')} not add up` : 'To look at'}</h2>
      {all.map((c, i) => <Notice key={i} kind={c.severity === 'error' ? 'stop' : 'caution'} word={c.severity === 'error' ? 'Differs.' : 'Look.'}><span>{c.say} {plainNext(c.next)}{c.where ? <span class="second"> ({c.where})</span> : ''}</span></Notice>)}
      {more > 0 && <p>And {number(more)} more.</p>}
    </section>
  );
}

// What the command line would do next is no help on a page.
const plainNext = (next: string | undefined) => (next && !next.includes('threshday ') ? next : '');

function Cheques({ books: b, place, whose }: { books: Books; place: (id: string) => string; whose: (id: string) => string }) {
  if (!b.cheques || b.cheques.length === 0) return null;
  return (
    <section class="sheet" aria-labelledby="books-cheques">
      <h2 id="books-cheques">Cheques</h2>
      <ul class="num">{b.cheques.map((c) => <li key={c.outlet + c.cheque + c.party}><strong>{printedUsd(c.total_usd)}</strong> to {whose(c.party)} from {place(c.outlet)}, number {c.cheque}, {day(c.on)}, {count(c.lines, 'line')}</li>)}</ul>
    </section>
  );
}

const verdicts: Record<string, string> = { agrees: 'agrees', explained: 'differs, and one rule explains it', rounding: 'differs by rounding', unexplained: 'differs, unexplained' };

function Audit({ books: b, place }: { books: Books; place: (id: string) => string }) {
  const a = b.audit;
  if (!a || (a.sheets ?? []).length === 0) return null;
  const odd = a.sheets!.filter((s) => s.verdict === 'explained' || s.verdict === 'unexplained');
  return (
    <section class="sheet" aria-labelledby="books-audit">
      <h2 id="books-audit">The buyers’ sheets, settled again</h2>
      <p class="num">{Object.entries(a.counts ?? {}).map(([k, n]) => `${number(n)} ${verdicts[k] ?? k}`).join('; ')}. Real differences come to <strong>{printedUsd(a.real_usd)}</strong>, roundings to {printedUsd(a.roundings_usd)}.</p>
      {odd.length > 0 && <ul class="num">{odd.map((s) => <li key={s.outlet + s.ticket}>Ticket {s.ticket} at {place(s.outlet)}: the sheet is {printedUsd(s.difference_usd)} off our {printedUsd(s.ours_usd)}; {(s.explained_by ?? []).length ? s.explained_by!.map((e) => e.detail).join('; ') : `${printedUsd(s.unexplained_usd)} has no rule that explains it${s.why ? `: ${s.why}` : ''}`}.</li>)}</ul>}
    </section>
  );
}
