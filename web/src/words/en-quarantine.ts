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
};
