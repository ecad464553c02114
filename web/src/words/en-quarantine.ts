/** Text about messages that were not understood and were not kept, in English. */
export const enQuarantine = {
  notKept: (count: string, since: string, last: string) =>
    `${count} further messages that were not understood have not been kept since ${since}, the last of them ${last}: there is room for only so many, so that they cannot fill the disk. Readings are not affected.`,
  from: (sender: string, count: string) => `${sender}: ${count}`,
  others: 'others',
  whatToDo: 'Look at the device that sends them, or explain their form. Removing those below makes room.',
  remove: 'Remove all of these messages',
  removeLead: (count: string) =>
    `${count} messages that were never understood are thrown away for good. They cannot be explained and read in afterwards. Readings, and whatever was understood, stay.`,
  clock: {
    ask: 'Was the clock of this computer wrong?',
    lead: 'Messages whose time lies ahead are set aside, as one of two clocks must be wrong: the one of the device, or the one of this computer. A small computer starts with a wrong time when it was without power and cannot reach the internet. Which clock it was, you alone can know.',
    ahead: (span: string) => `${span} ahead`,
    came: (count: string, from: string, to: string) =>
      `Messages: ${count}. By the clock of this computer the first came ${from}, the last ${to}. They are from:`,
    more: (count: string) => `and ${count} more`,
    agree: (count: string) =>
      `${count} senders agree. That speaks for a wrong clock of this computer, unless all of them were set up in the same wrong way.`,
    alone: 'Only one sender says so. If its own clock was wrong, leave these messages where they are.',
    likeZone: 'By about as much a device is ahead that sends local time and calls it UTC. Then the device is wrong.',
    forGood: 'Once they are read in, their time can no longer be changed.',
    believe: (span: string) => `This computer was ${span} slow: read them in`,
    none: 'Nothing that was set aside fits a clock of this computer that was slow.',
    done: (readings: string, messages: string) => `Read in: ${readings} readings in ${messages} messages.`,
  },
};
