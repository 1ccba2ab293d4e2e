// The few parts that every page is made of.
import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import type { Trouble } from '../api';

/** Go changes the page without asking the server for it. */
export function go(path: string): void {
  history.pushState(null, '', path);
  dispatchEvent(new PopStateEvent('popstate'));
}

/** Page is a page's head and content. Coming to it moves the focus to its head. */
export function Page({ title, under, children }: { title: string; under?: ComponentChildren; children: ComponentChildren }) {
  const head = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    document.title = `${title} · Threshday`;
    if (history.state !== 'first') head.current?.focus({ preventScroll: true });
  }, [title]);
  return (
    <>
      <header class="top">
        <h1 tabIndex={-1} ref={head}>{title}</h1>
        {under}
      </header>
      {children}
    </>
  );
}

interface RowProps { name: string; figure?: string; unit?: string; middle?: ComponentChildren; say?: ComponentChildren }

function RowInside({ name, figure, unit, middle, say }: RowProps) {
  return (
    <>
      <span class="name">{name}</span>
      <span class="figure num">{figure ?? ''}</span>
      <span class="middle">{middle}</span>
      <span class="unit">{unit}</span>
      {say && <span class="say">{say}</span>}
    </>
  );
}

/** RowLink is a row that leads to a page. */
export function RowLink({ to, current, ...row }: RowProps & { to: string; current?: boolean }) {
  return <a class="row" href={to} aria-current={current ? 'true' : undefined}><RowInside {...row} /></a>;
}

/** RowOpener is a row that opens in place. */
export function RowOpener({ id, open, onPress, children, ...row }: RowProps & { id: string; open: boolean; onPress: () => void; children?: ComponentChildren }) {
  return (
    <>
      <button type="button" class="row" id={`row-${id}`} aria-expanded={open} aria-controls={`open-${id}`} onClick={onPress}><RowInside {...row} /></button>
      {open && children && <div class="open" id={`open-${id}`}>{children}</div>}
    </>
  );
}

/** Notice says something that must not be passed over, its kind in its first word. */
export function Notice({ kind, word, children, live }: { kind?: 'caution' | 'stop'; word?: string; children: ComponentChildren; live?: boolean }) {
  return <div class={`notice ${kind ?? ''}`} role={live ? 'status' : undefined}>{word && <b>{word} </b>}{children}</div>;
}

/** Said shows trouble in the server's words. */
export function Said({ trouble }: { trouble: Trouble }) {
  return <Notice kind="stop" word="No." live><span>{trouble.say}{trouble.next ? ` ${trouble.next}` : ''}</span></Notice>;
}

/** Numbers holds the figures behind a picture or a claim, one press away. */
export function More({ what, children }: { what: string; children: ComponentChildren }) {
  return <details><summary>{what}</summary>{children}</details>;
}

/** Scroll lets a table that is wider than the page be moved sideways, with keys too, and says so while it is. */
export function Scroll({ label, children }: { label: string; children: ComponentChildren }) {
  const box = useRef<HTMLDivElement>(null);
  const [wider, set] = useState(false);
  useEffect(() => {
    const measure = () => set(box.current !== null && box.current.scrollWidth > box.current.clientWidth + 1);
    const watch = new ResizeObserver(measure);
    watch.observe(box.current!);
    for (const inside of box.current!.children) watch.observe(inside);
    return () => watch.disconnect();
  }, []);
  return (
    <>
      {wider && <p class="second small sideways">Wider than the page: slide it sideways.</p>}
      <div class={`scroll ${wider ? 'wider' : ''}`} role="region" aria-label={label} tabIndex={0} ref={box}>{children}</div>
    </>
  );
}

export function useMedia(query: string): boolean {
  const [is, set] = useState(() => matchMedia(query).matches);
  useEffect(() => {
    const m = matchMedia(query);
    const look = () => set(m.matches);
    m.addEventListener('change', look);
    return () => m.removeEventListener('change', look);
  }, [query]);
  return is;
}

interface BoxProps {
  id: string; label: string; value: string; onInput: (value: string) => void;
  unit?: string; hint?: string; wrong?: string; doubt?: string; wide?: boolean;
  kind?: 'text' | 'decimal' | 'date' | 'time' | 'datetime-local' | 'long'; choices?: [string, string][]; required?: boolean;
}

/** Box is one thing to enter: label above, unit inside at the right, range below, what is wrong under it. */
export function Box(p: BoxProps) {
  const said = [p.hint && `${p.id}-hint`, p.wrong && `${p.id}-wrong`, p.doubt && `${p.id}-doubt`].filter(Boolean).join(' ') || undefined;
  const common = {
    id: p.id, name: p.id, value: p.value, 'aria-describedby': said, 'aria-invalid': p.wrong ? true : undefined, 'aria-required': p.required || undefined, autocomplete: 'off',
    onInput: (e: Event) => p.onInput((e.currentTarget as HTMLInputElement).value),
  };
  const type = p.kind === 'date' || p.kind === 'time' || p.kind === 'datetime-local' ? p.kind : 'text';
  return (
    <div class={`box ${p.wide ? 'wide' : ''} ${p.wrong ? 'bad' : ''}`}>
      <label for={p.id}>{p.label}</label>
      <div class="in">
        {p.choices
          ? <select {...common}>{p.choices.map(([value, text]) => <option key={value} value={value}>{text}</option>)}</select>
          : p.kind === 'long'
            ? <textarea rows={3} {...common} />
            : type === 'text' ? <input type="text" inputMode={p.kind === 'decimal' ? 'decimal' : 'text'} {...common} /> : <input type={type} {...common} />}
        {p.unit && <span class="after">{p.unit}</span>}
      </div>
      {p.hint && <p class="hint" id={`${p.id}-hint`}>{p.hint}</p>}
      {p.wrong && <p class="wrong" id={`${p.id}-wrong`}>{p.wrong}</p>}
      {p.doubt && <p class="doubt" id={`${p.id}-doubt`}>{p.doubt}</p>}
    </div>
  );
}

/** Picks is a choice among few, all of them in sight. */
export function Picks({ name, label, value, choices, onPick }: { name: string; label: string; value: string; choices: [string, string][]; onPick: (value: string) => void }) {
  return (
    <fieldset class="box wide">
      <legend>{label}</legend>
      <div class="picks">
        {choices.map(([v, text]) => (
          <label key={v}><input type="radio" name={name} value={v} checked={v === value} onChange={() => onPick(v)} />{text}</label>
        ))}
      </div>
    </fieldset>
  );
}
