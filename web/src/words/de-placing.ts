import type { enPlacing } from './en-placing.ts';
import type { Same } from './same.ts';

/** Text of the placing guide in German. */
export const dePlacing: Same<typeof enPlacing> = {
  title: 'Wohin ein Sensor gehört',
  lead: 'Ein Sensor sagt die Wahrheit über die Stelle, an der er sitzt. Die meisten falschen Werte sind richtige Werte der falschen Stelle.',
  contents: 'Auf dieser Seite',
  so: 'Richtig',
  notSo: 'Falsch',
  loftSide: 'Dachbodenseite, kalt',
  roomSide: 'Raumseite, warm',
  guides: {
    'coldest-corner': {
      title: 'Die kälteste Ecke',
      shows:
        'Eine Ecke des Raums von innen: Dachschräge, Giebelwand und niedriger Kniestock treffen sich in einem Punkt; der Sensor sitzt auf der Schräge, nahe an diesem Punkt.',
      points: [
        'Suchen Sie dort, wo Schräge, Giebel und Kniestock zusammentreffen oder wo der schwarze Fleck ist: Dort schlägt sich Wasser zuerst nieder.',
        'Fühlen Sie an einem kalten Morgen, bevor die Heizung anläuft, mit dem Handrücken an der Decke. Ein Infrarotthermometer hilft, die kälteste Stelle zu finden; glauben Sie seinen Unterschieden, nicht seinen Werten.',
      ],
      marks: { slope: 'Schräge', gable: 'Giebel', eaves: 'Kniestock', here: 'hier' },
    },
    rafters: {
      title: 'Auf einem Sparren oder dazwischen',
      shows:
        'Ein Schnitt quer zur Schräge: zwei Sparren mit Wolle dazwischen, darunter die Deckenplatte; ein Sensor unter einem Sparren, einer mitten zwischen den Sparren.',
      points: [
        'Mit Wolle zwischen den Sparren ist das Holz die kältere Linie. Ist nichts dazwischen, ist es das Feld.',
        'Haben Sie zwei Sensoren, setzen Sie je einen auf gleicher Höhe. Haben Sie einen, nehmen Sie die kältere Stelle und schreiben Sie ins Tagebuch, welche es ist: Nach den Arbeiten kann die andere die kältere sein.',
      ],
      marks: { rafter: 'Sparren', wool: 'Wolle', on: 'am Sparren', between: 'dazwischen' },
    },
    contact: {
      title: 'Kontakt zur Oberfläche',
      shows:
        'Die Deckenplatte aus der Nähe, zweimal. Richtig: Der Fühler liegt in einem Tupfer Spachtelmasse an der Platte. Falsch: Ein trockener Fühler berührt die Platte an einem Punkt und ist von Luft umgeben.',
      points: [
        'Ein trockener Fühler berührt an wenigen Punkten und misst vor allem die Luft um sich. Betten Sie ihn in einen Tupfer Spachtelmasse oder Wärmeleitpaste.',
        'Ein Fühler mit Luft darunter zeigt zu warm, und das schmeichelt der Decke: Ein Zehntel des Unterschieds zwischen Raum und Oberfläche genügt, um aus 95 % an der Oberfläche 89 % zu machen.',
      ],
      marks: { bedded: 'in Spachtelmasse', dry: 'Luft unter dem Fühler' },
    },
    cover: {
      title: 'Eine dünne Abdeckung',
      shows:
        'Die Deckenplatte aus der Nähe, zweimal. Richtig: Papierband über dem Fühler, gestrichen wie die Decke. Falsch: ein Schaumstoffpolster über dem Fühler, unter dem die Platte zu kalt wird.',
      points: [
        'Decken Sie den Fühler mit Papierband ab und streichen Sie es wie die Decke, damit er den Raum so sieht wie die Decke.',
        'Kein Schaumstoffpolster: Es hält die Wärme des Raums von der Platte ab, und die Stelle darunter wird kälter als die Decke. Keine glänzende Folie: Sie weist die Hälfte der Wärme ab, die als Strahlung kommt.',
      ],
      marks: { tape: 'Papierband, gestrichen', pad: 'Schaumstoff' },
    },
    'lead-along': {
      title: 'Das Kabel an der Oberfläche entlang',
      shows:
        'Die Deckenplatte aus der Nähe, zweimal. Richtig: Das Kabel läuft 100 Millimeter unter dem Band an der Platte entlang, bevor es in den Raum abbiegt. Falsch: Das Kabel hängt vom Fühler gerade in den Raum.',
      points: [
        'Kupfer leitet Wärme aus dem Raum in den Fühler. Befestigen Sie die ersten 100 mm des Kabels an der Oberfläche; auf dieser Strecke geht die Wärme in die Platte.',
        'Probieren Sie es aus: Halten Sie in einer kalten Nacht den freien Teil des Kabels zehn Minuten in der warmen Hand. Ändert sich der Messwert um mehr als 0,1 K, braucht es mehr Länge an der Oberfläche.',
      ],
      marks: { length: '100 mm', drop: 'gerade nach unten' },
    },
    clear: {
      title: 'Abstand von Lampen, Rohren und Sonne',
      shows:
        'Ein Raum mit Dachschräge. Der Sensor auf der Schräge hält Abstand von einer Hängelampe, von einem Heizkörper mit aufsteigender Warmluft, von einem Rohr und vom Sonnenfleck eines Fensters.',
      points: [
        'Halten Sie einen Meter Abstand von Lampen, Rohren, Kaminen, Fernsehern und von Heizkörpern und der warmen Luft, die über ihnen aufsteigt.',
        'Meiden Sie den Sonnenfleck. Gehen Sie an einem klaren Tag mittags herum und sehen Sie nach, auch im Frühling, wenn die Sonne höher steht.',
        'Auch nicht hinter einen Schrank, außer es geht um diese Stelle; dann sagen Sie es in ihrem Namen.',
      ],
      marks: { lamp: 'Lampe', radiator: 'Heizkörper', duct: 'Rohr', sun: 'Sonne', here: 'hier' },
    },
    control: {
      title: 'Eine Vergleichsfläche',
      shows:
        'Ein Schnitt durch den Raum: Die Schräge ist verkleidet, die ebene Decke nicht. Ein Sensor sitzt auf der verkleideten Schräge, der zum Vergleich auf der ebenen Decke.',
      points: [
        'Eine vergleichbare unbehandelte Fläche, etwa die ebene Decke oder ein unverkleideter Streifen. Was sich auch dort ändert, war das Wetter oder die Lebensweise, nicht die Verkleidung.',
        'Befestigen Sie ihren Sensor auf dieselbe Weise, mit derselben Abdeckung, und lassen Sie ihn während der Arbeiten in Ruhe.',
      ],
      marks: { control: 'Vergleich', treated: 'behandelt', lining: 'Verkleidung' },
    },
    behind: {
      title: 'Hinter der Verkleidung',
      shows:
        'Die Schichten von der Dachbodenseite zum Raum: Sparren und Wolle, die alte Decke, der Sensor darauf, Dämmung, Dampfbremse und die neue Sichtfläche. Das Kabel führt abgedichtet durch die Dampfbremse.',
      points: [
        'Auf der alten Oberfläche, bevor die Verkleidung geschlossen wird, auf Höhe der kältesten Ecke. Temperatur und Luftfeuchte zusammen: Die Feuchte eines Spalts sagt ohne seine eigene Temperatur nichts.',
        'Besser zwei als einer: Niemand kommt dort wieder hin. Dichten Sie das Kabel ab, wo es durch die Dampfbremse führt.',
        'Der Sensor, der die alte Oberfläche gemessen hat, bleibt. Ab dem Tag, an dem die Verkleidung geschlossen wird, ist sein Ort „hinter der Verkleidung“; sagen Sie es mit „Umsetzen“.',
      ],
      marks: { old: 'alte Decke', gap: 'Sensor', vapour: 'Dampfbremse, abgedichtet', face: 'neue Sichtfläche' },
    },
    room: {
      title: 'Raumluft',
      shows:
        'Eine Innenwand mit einem Sensor in Kopfhöhe, etwas von der Wand abgerückt, und daneben ein Mensch als Maßstab.',
      points: [
        'Kopfhöhe, an einer Innenwand, 20 mm davon abgerückt, von freier Luft umgeben. Nicht über einem Heizkörper, nicht im Zug einer Tür, nicht auf einem Regal an der Außenwand.',
        'Jeder Taupunkt kommt von diesem Sensor: Geben Sie ihm den besten Feuchtefühler, den Sie haben.',
      ],
      marks: { height: 'Kopfhöhe', wall: 'Innenwand' },
    },
    loft: {
      title: 'Luft und Holz im Dachboden',
      shows:
        'Ein Schnitt durch den Dachboden: Der Luftsensor hängt in der Mitte, auf halber Höhe zwischen Dämmung und First; der Holzsensor sitzt tief an einem Sparren nahe der Traufe. An der Traufe strömt Luft ein.',
      points: [
        'Luft: in der Mitte, auf halber Höhe zwischen Dämmung und First, mit Abstand zum Holz, nicht im Luftstrom von der Traufe, nicht über der Luke.',
        'Holz: ein Sparren oder die Fußpfette auf der sonnenlosen Seite, tief nahe der Traufe, wo Holz am längsten feucht bleibt. Neben den Stiften ein Temperaturfühler im Holz.',
        'Legen Sie Bretter aus, sorgen Sie für Licht, achten Sie auf Hitze und Absturzgefahr, und lassen Sie den Spalt an der Traufe offen.',
      ],
      marks: { air: 'Luft', timber: 'Holz', gap: 'offen lassen' },
    },
    outdoors: {
      title: 'Im Freien, im Schatten',
      shows:
        'Ein Haus mit tief stehender Sonne auf der Südseite: Der Sensor hängt unter der nördlichen Traufe, im Schatten des Hauses, 100 Millimeter vor der Wand.',
      points: [
        'Nordseite, den ganzen Tag Schatten, ein Dach gegen Regen darüber, 100 mm vor der Wand.',
        'Nicht neben Fenstern, Abluftgittern oder dem Abgasrohr einer Heizung. Im Juni erreicht die frühe Sonne auch eine Nordwand: Sehen Sie nach.',
      ],
      marks: { off: '100 mm', north: 'Norden', shade: 'Schatten' },
    },
  },
  after: 'Wenn er befestigt ist',
  afterPoints: [
    'Machen Sie ein Foto mit einem Lineal darin, und schreiben Sie Datum und Stelle ins Tagebuch.',
    'Lassen Sie die Sensoren zwei Wochen kaltes Wetter lang laufen, bevor die Arbeiten beginnen: Ohne ein Vorher gibt es nichts zu vergleichen.',
  ],
  asbestos:
    'Alte strukturierte Beschichtungen und Platten können Asbest enthalten: vor dem Bohren oder Abschaben prüfen lassen.',
};
