// The frame around every page: five words, what the device knows of the office, and the page itself.
import { useEffect, useState } from 'preact/hooks';
import { told, type Snapshot } from './api';
import { go, Page } from './parts/ui';
import { UnitsProvider, useSystem } from './settings';
import { needsYou, send, type State, unsent, useSync } from './sync';
import { useUpdate } from './update';
import { age, clock, count } from './words';
import { About } from './pages/about';
import { BooksPage } from './pages/books';
import { FieldPage } from './pages/field';
import { Fields } from './pages/fields';
import { LoadPage } from './pages/load';
import { LoadsPage } from './pages/loads';
import { MorePage } from './pages/more';
import { OutlookDays } from './pages/outlook';
import { Outlets } from './pages/outlets';
import { PencilPage, Pencils } from './pages/pencil';
import { SchedulePage } from './pages/schedule';
import { Sent } from './pages/sent';
import { Settings } from './pages/settings';
import { Start } from './pages/start';
import { Today } from './pages/today';
import { WaitingPage } from './pages/waiting';

const words: [string, string][] = [['/', 'Today'], ['/fields', 'Fields'], ['/outlets', 'Outlets'], ['/loads', 'Loads'], ['/more', 'More']];

function usePath(): string {
  const [path, set] = useState(location.pathname);
  useEffect(() => {
    const look = () => {
      set(location.pathname);
      scrollTo(0, 0);
    };
    const press = (e: MouseEvent) => {
      const a = (e.target as Element).closest?.('a');
      if (!a || e.defaultPrevented || e.button !== 0 || e.metaKey || e.ctrlKey || e.shiftKey || a.target || a.origin !== location.origin) return;
      if (/^\/(print|api)\//.test(a.pathname) || a.hash) return;
      e.preventDefault();
      go(a.pathname);
    };
    addEventListener('popstate', look);
    document.addEventListener('click', press);
    return () => {
      removeEventListener('popstate', look);
      document.removeEventListener('click', press);
    };
  }, []);
  return path;
}

export function App() {
  const sync = useSync();
  const path = usePath();
  const units = useSystem();
  const section = words.findLast(([to]) => path === to || path.startsWith(`${to}/`))?.[0] ?? '/';
  return (
    <UnitsProvider value={units}>
      <a class="skip" href="#main">To the page</a>
      <div class="frame">
        <nav class="words" aria-label="Threshday">
          <p class="brand" aria-hidden="true">Threshday</p>
          <ul>{words.map(([to, word]) => <li key={to}><a href={to} aria-current={section === to ? (path === to ? 'page' : 'true') : undefined}>{word}</a></li>)}</ul>
        </nav>
        <main id="main">
          <Office sync={sync} />
          <Here path={path} sync={sync} />
        </main>
      </div>
    </UnitsProvider>
  );
}

/** Office says on every page whether the office answers, when it last did, and how much waits to go there. */
function Office({ sync }: { sync: State }) {
  const update = useUpdate();
  const waiting = unsent(sync);
  const refused = needsYou(sync);
  const zone = sync.snapshot?.farm?.zone ?? Intl.DateTimeFormat().resolvedOptions().timeZone;
  const oldest = waiting[0]?.command.device_time;
  return (
    <>
      <p class="state" role="status" id="office" data-connected={sync.connected} data-unsent={waiting.length}>
        {sync.connected
          ? <span>Connected, last at {sync.syncedAt ? clock(sync.syncedAt, zone) : '–'}</span>
          : <span><strong>Not connected.</strong> Last synced {sync.syncedAt ? age(sync.syncedAt, Date.now()) : '–'}; this is what the device holds.</span>}
        <span>{waiting.length === 0 ? 'nothing unsent' : <strong>{count(waiting.length, 'entry', 'entries')} kept here, not yet sent{oldest ? `, oldest from ${clock(oldest, zone)}` : ''}</strong>}</span>
        {waiting.length > 0 && <button type="button" class="link" onClick={() => void send()}>Send now</button>}
      </p>
      {refused.length > 0 && <div class="notice stop"><p><b>Needs you.</b> {count(refused.length, 'entry was', 'entries were')} not taken. <a href="/more/sent">See why</a></p></div>}
      {sync.broken && <div class="notice stop" role="alert"><p><b>Nothing is kept.</b> {sync.broken}</p></div>}
      {sync.snapshot?.read_only && <div class="notice stop"><p><b>No entries now.</b> {told(sync.snapshot.read_only)}</p></div>}
      {update.ready && <div class="notice"><p>A newer Threshday is here. <button type="button" class="link" onClick={update.take}>Use it now</button></p></div>}
    </>
  );
}

/** Here is the page of a path. */
function Here({ path, sync }: { path: string; sync: State }) {
  const [, section, name] = path.split('/').map(decodeURIComponent);
  if (section === 'more') {
    if (name === 'pencil') return path.split('/')[3] ? <PencilPage key={path} name={path.split('/')[3]!} /> : <Pencils />;
    if (name === 'settings') return <Settings snapshot={sync.snapshot ?? null} />;
    if (name === 'sent') return <Sent sync={sync} />;
    if (name === 'about') return <About snapshot={sync.snapshot ?? null} />;
  }
  const snapshot = sync.snapshot;
  if (snapshot === undefined) return <p role="status">Looking at what this device holds…</p>;
  if (snapshot === null) return <NoOffice connected={sync.connected} />;
  if (snapshot.farm === null) return section === 'more' ? <MorePage snapshot={snapshot} /> : <Start />;
  return <FarmPage section={section ?? ''} name={name} path={path} snapshot={snapshot as FarmSnapshot} sync={sync} />;
}

/** A FarmSnapshot is one in which there is a farm. */
export type FarmSnapshot = Snapshot & { farm: NonNullable<Snapshot['farm']> };

function FarmPage({ section, name, path, snapshot, sync }: { section: string; name: string | undefined; path: string; snapshot: FarmSnapshot; sync: State }) {
  switch (section) {
    case '': return <Today snapshot={snapshot} sync={sync} />;
    case 'fields': return name ? <FieldPage key={name} id={name} snapshot={snapshot} sync={sync} /> : <Fields snapshot={snapshot} />;
    case 'outlets': if (name) return <SchedulePage outlet={name} crop={path.split('/')[3] ?? ''} snapshot={snapshot} />;
      return <Outlets snapshot={snapshot} sync={sync} />;
    case 'loads': return name ? <LoadPage key={name} id={name} snapshot={snapshot} sync={sync} /> : <LoadsPage snapshot={snapshot} sync={sync} />;
    case 'more':
      if (name === 'outlook') return <OutlookDays snapshot={snapshot} sync={sync} />;
      if (name === 'books') return <BooksPage snapshot={snapshot} />;
      if (name === 'waiting') return <WaitingPage snapshot={snapshot} sync={sync} />;
      if (!name) return <MorePage snapshot={snapshot} />;
  }
  return <Page title="No such page"><p>There is nothing at “{path}”. <a href="/">The day sheet</a> is where most things begin.</p></Page>;
}

function NoOffice({ connected }: { connected: boolean }) {
  if (connected) return <p role="status">Asking the farm’s computer…</p>;
  return (
    <Page title="Nothing here yet">
      <p>This device has never heard from the farm’s computer, and it does not answer now. Start <strong>threshday serve</strong> there; this page then fills by itself.</p>
      <p>The <a href="/more/pencil">pencil</a> works without it, once it was opened here before.</p>
    </Page>
  );
}
