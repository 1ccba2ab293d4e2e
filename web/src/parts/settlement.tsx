// What a load pays, line by line, as the buyer's schedule has it.
import { useEffect, useState } from 'preact/hooks';
import { told, type Statement } from '../api';
import { printed, printedUsd } from '../units';
import { capital } from '../words';
import { settle } from '../wasm';
import { Scroll } from './ui';

/** AsTyped settles a ticket on the device while it is being typed. */
export function AsTyped({ schedule, ticket, price }: { schedule: unknown; ticket: object; price: { price: string; from: string } }) {
  const [got, set] = useState<{ statement?: Statement; why?: string }>({});
  const key = JSON.stringify([ticket, price.price]);
  useEffect(() => {
    let gone = false;
    const wait = setTimeout(() => {
      settle(schedule, ticket, price.price).then(
        (r) => { if (!gone) set(r.ok ? { statement: r.ok } : { why: told(r.error) || 'It cannot be settled.' }); },
        () => { if (!gone) set({ why: 'The settlement is worked out when the load is in the book: the sums are not on this device yet.' }); },
      );
    }, 120);
    return () => {
      gone = true;
      clearTimeout(wait);
    };
  }, [key, schedule]);
  return (
    <div aria-live="polite">
      {got.statement ? <Settlement statement={got.statement} price={price.price} from={price.from} /> : <p class="second">{got.why ?? 'Working it out…'}</p>}
    </div>
  );
}

/** Settlement is a load's statement in the order of the paper; lines that took nothing are left out. */
export function Settlement({ statement: s, price, from }: { statement: Statement; price: string; from: string }) {
  if (s.rejected) return <p><strong>Turned away.</strong> {s.rejected.say}. Ask the buyer before the truck leaves.</p>;
  const lines = (s.lines ?? []).filter((l) => Number(l.usd) !== 0 || Number(l.lb) !== 0);
  return (
    <>
      <Scroll label="Settlement">
        <table>
          <thead><tr><th scope="col" class="text">Line</th><th scope="col">Taken, lb</th><th scope="col">Dollars</th></tr></thead>
          <tbody>
            {lines.map((l, i) => <tr key={i}><td class="text">{capital(l.say)}</td><td>{Number(l.lb) ? printed(l.lb) : ''}</td><td>{Number(l.usd) ? printedUsd(l.usd) : ''}</td></tr>)}
            {Number(s.checkoff_usd) !== 0 && s.checkoff_usd !== null && <tr><td class="text">Checkoff</td><td /><td>{printedUsd(`-${s.checkoff_usd}`)}</td></tr>}
            {(s.charges ?? []).map((c) => <tr key={c.row}><td class="text">Charge: {c.factor}</td><td /><td>{printedUsd(c.usd)}</td></tr>)}
            <tr class="total"><th scope="row" class="text">Pays</th><td>{printed(s.settle_lb)}</td><td id="pays">{printedUsd(s.net_usd)}</td></tr>
          </tbody>
        </table>
      </Scroll>
      <p class="second small">At {printedUsd(price)}, {from}; {printedUsd(s.price_per_bu)} a bushel after discounts{s.net_bu ? ` on ${printed(s.net_bu)} bu` : ''}. By the schedule as entered; the buyer’s own posted schedule decides.</p>
    </>
  );
}
