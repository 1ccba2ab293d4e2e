import { describe, expect, test } from 'vitest';
import { addDays, age, day, dayOf, hour, left, odds, when } from './words';

describe('odds in words', () => {
  test('never say 0 or 100 in a hundred', () => {
    expect(odds(0)).toBe('less than 1 in 50');
    expect(odds(1)).toBe('more than 49 in 50');
  });
  test.each([[0.5, 'nearly even'], [0.75, 'about 3 in 4'], [0.05, 'about 1 in 20'], [0.1, 'about 1 in 10'], [0.9, 'about 9 in 10']])('%s', (p, want) => expect(odds(p)).toBe(want));
});

describe('days and hours', () => {
  test('stand on the farm’s clock, whatever the device’s', () => {
    expect(when('2031-09-15T03:10:00Z', 'America/Chicago')).toBe('Sun 14 Sep 22:10');
    expect(dayOf('2031-09-15T03:10:00Z', 'America/Chicago')).toBe('2031-09-14');
  });
  test('a civil day stays itself in every zone', () => expect(day('2031-09-14')).toBe('Sun 14 Sep'));
  test('over the change of clocks a day is one day', () => expect(addDays('2031-11-01', 2)).toBe('2031-11-03'));
  test('hours as numbers', () => expect([hour(11.3333), hour(8), hour(21.999)]).toEqual(['11:20', '08:00', '22:00']));
  test('time left', () => {
    expect(left('2031-09-14', '2031-09-14')).toBe('ends today');
    expect(left('2031-09-16', '2031-09-14')).toBe('2 days left');
    expect(left('2031-09-13', '2031-09-14')).toBe('ended Sat 13 Sep');
  });
  test('ages', () => expect(age('2031-09-14T00:00:00Z', '2031-09-14T13:00:00Z')).toBe('13 hours ago'));
});
