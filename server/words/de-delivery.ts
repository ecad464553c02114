import type { DeliveryWords } from './delivery-words.ts';

export const deDelivery: DeliveryWords = {
  tag: 'de-DE',
  lead: { begun: '', reminder: 'Hält an: ', ended: 'Vorüber: ', withdrawn: 'Zurückgenommen: ' },
  summary: {
    quiet: 'die Woche in Kürze: alles ruhig',
    open: (count) => `die Woche in Kürze: ${count === 1 ? '1 Hinweis dauert an' : `${count} Hinweise dauern an`}`,
    nothingOpen: 'Im Augenblick braucht Sie nichts.',
    goingOn: 'Dauert an:',
    nothingPast: 'Sonst kam diese Woche nichts auf.',
    past: 'Kam und ging diese Woche:',
    more: (count) => `und ${count} weitere`,
  },
  digest: {
    subject: (dwelling, date) => `${dwelling}: Siegel vom ${date}`,
    text: ({ dwelling, date, day, readings, entry }) => [
      `Die Messwerte von ${dwelling}, die am ${date} (UTC) ankamen, wurden versiegelt, ${readings} an der Zahl.`,
      `Eintrag der Kette: ${entry}`,
      `Heben Sie diese Nachricht auf. Wer später ein Nachweispaket dieser Wohnung bekommt, vergleicht diesen Eintrag mit der Zeile ${day} in chain.csv: Ist er gleich, wurde seither kein Messwert dieses Tages oder eines Tages davor geändert.`,
    ],
  },
  why: (dwelling) => `Sie bekommen dies, weil Ihre Adresse für Nachrichten über ${dwelling} eingetragen wurde.`,
  indicates: 'coomb gibt Hinweise; es bescheinigt nichts und ersetzt keinen ärztlichen oder rechtlichen Rat.',
  stop: 'Diese Nachrichten abbestellen:',
  stopByAsking: 'Um diese Nachrichten abzubestellen, wenden Sie sich an die Person, die sich dort um coomb kümmert.',
  test: {
    subject: (dwelling) => `Test von coomb: ${dwelling}`,
    text: (name) =>
      `Guten Tag ${name},\n\ndies ist ein Test. Wenn Sie ihn lesen können, erreichen Sie hier auch Nachrichten über Feuchte. Sie brauchen nichts zu tun.`,
  },
  unsubscribe: {
    title: 'Diese Nachrichten abbestellen',
    ask: (dwelling) => `Alle Nachrichten von coomb über ${dwelling} an diese Adresse abbestellen?`,
    confirm: 'Nachrichten abbestellen',
    done: (dwelling) => `Sie bekommen keine Nachrichten über ${dwelling} mehr.`,
    undo: 'War das ein Versehen, bitten Sie die Person, die sich dort um coomb kümmert, sie wieder einzuschalten.',
    wrong:
      'Dieser Link bestellt nichts ab: Er ist unvollständig, oder der Empfänger wurde entfernt. Kopieren Sie den ganzen Link aus der Nachricht.',
  },
};
