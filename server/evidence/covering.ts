import { dayOf, dayText } from '../store/canonical.ts';
import type { DaySeal, SealFault, Sealing } from '../store/port.ts';

/** What a pack says of the days it covers and of the chain they stand in. */
export interface Covering {
  readonly sealing: Sealing | null;
  readonly seals: readonly DaySeal[];
  /** what was found when everything was summed up again while the pack was made */
  readonly faults: readonly SealFault[];
  readonly from: number;
  readonly to: number;
}

const faultText = (fault: SealFault): string => {
  switch (fault.kind) {
    case 'readings-differ':
      return `${dayText(fault.day)}: the readings of sensor ${fault.sensorId} (${fault.quantity}) that arrived that day are not those that were sealed`;
    case 'chain-broken':
      return `${dayText(fault.day)}: the chain is broken here`;
    case 'changes-differ':
      return `${dayText(fault.day)}: the journal of changes is not the one that was sealed`;
    case 'story-differs':
      return `${fault.subject} ${fault.subjectId} is not what the journal says it should be`;
  }
};

/** Which days are sealed, and where the chain was begun or broken, in plain words. */
export function coveringText({ sealing, seals, faults, from, to }: Covering): string {
  const lines = [
    'WHICH DAYS ARE SEALED',
    '',
    `This pack has readings from ${dayText(dayOf(from))} to ${dayText(dayOf(to - 1))}, UTC days.`,
  ];
  const first = seals[0];
  const last = seals.at(-1);
  if (sealing === null || sealing.firstDay === null || first === undefined || last === undefined) {
    lines.push(
      'None of them is sealed: no day has passed since sealing began. Nothing here shows whether readings were changed',
      'before this pack was signed.',
    );
  } else {
    lines.push(
      `Sealing began on ${dayText(sealing.firstDay)}. The chain has ${seals.length} days, to ${dayText(last.day)}.`,
      'A reading is sealed with the day it arrived, which the column arrived_on gives. Readings that arrived before sealing',
      `began were not sealed. Readings that arrived after ${dayText(last.day)} were not sealed yet when this pack was made.`,
      'Where readings came out of a file, imports.csv names the file and gives its digest: the seal fixes when the file was',
      'read in, and says nothing of what happened to it before.',
    );
  }
  lines.push('');
  if (faults.length === 0) lines.push('When this pack was made, everything was still as it had been sealed.');
  else
    lines.push(
      'When this pack was made, these were NOT as they had been sealed:',
      ...faults.map((one) => `- ${faultText(one)}`),
    );
  lines.push('', 'WHAT THIS PROVES, AND WHAT IT DOES NOT', '', ...proves, '');
  return lines.join('\n');
}

export const proves: readonly string[] = [
  'It proves that the files in this pack are those that were signed, to whoever knows the fingerprint of the signing key',
  'from somewhere else. It shows when a reading, a calibration or a placement was changed, taken out or slipped in after its',
  'day was sealed, as long as the one who did it did not also make the whole chain again.',
  'The owner of the computer holds the key and the database, and could make everything again from the beginning. What',
  'rules that out is an entry of the chain that somebody else received at the time: each entry fixes every day before it.',
  'So compare an entry that was sent out with the same day in chain.csv.',
  'An entry goes out each day as a retained MQTT message on coomb-state/<home>/seal: a broker elsewhere, or a program that',
  'keeps what it hears, is such a somebody else.',
  'The chain does not cover second values for an instant (conflicts.csv), messages that were not understood (quarantine.csv),',
  'hour records, figures or the report: these are fixed by the signature alone, from when the pack was made. Hours and',
  'figures follow from what the chain covers and can be worked out again.',
  'It does not prove that a sensor was right, that it stood where the diary says, or that nobody breathed on it. The time',
  'of signing is what the computer took it to be.',
];
