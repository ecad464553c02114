/** German of the cautions, by code. */
export const deCautions: Readonly<Record<string, string>> = {
  'mould-cleaning':
    'Wo Schimmel ist: Atemwege, Haut und Augen schützen. Bei großem oder wiederkehrendem Befall, oder wenn Kranke oder Schutzbedürftige im Haushalt leben: Fachleute fragen.',
  'unflued-heater':
    'Nicht mit einem Gas- oder Petroleumofen ohne Abzug: Er gibt Wasser ab und kann Kohlenmonoxid abgeben.',
  'loft-work': 'Im Dachboden: Bretter auslegen, für Licht sorgen, auf Hitze und Absturzgefahr achten.',
  'indicates-only':
    'Diese Werte sind Hinweise, keine Bescheinigung. Ränder, Traufe und Befestigungen sind kälter als die ebene Fläche, die hier berechnet wird.',
  'foam-fire':
    'Schaumdämmung in einem Raum muss mit einer Verkleidung abgedeckt werden, die den Brandschutz bietet, den das örtliche Baurecht von Decken verlangt. Dünne Holz- oder Faserplatten bieten ihn vielleicht nicht; Gipskarton in voller Dicke meist schon. Fragen Sie die Bauaufsicht.',
  'vapour-control':
    'Die Verkleidung macht alles dahinter kälter. Raumluft darf nicht dorthin gelangen: Verkleben Sie Fugen, dichten Sie Ränder, Dosen und Befestigungen auf der Raumseite ab, und lassen Sie einen Sensor hinter der Verkleidung.',
  'eaves-gap': 'Füllen oder verschließen Sie nie den Lüftungsspalt an der Traufe und über der Dachschräge.',
  cables:
    'In Dämmung verlegte Kabel vertragen weniger Strom, und eingebaute Lampen können überhitzen. Arbeiten am Stromnetz gehören in die Hände einer Elektrofachkraft.',
  'old-coatings':
    'Alte strukturierte Beschichtungen und Platten können Asbest enthalten. Lassen Sie sie prüfen, bevor Sie bohren, schaben oder hindurchschrauben.',
  'mould-first':
    'Suchen und beheben Sie Undichtheiten, und entfernen Sie Schimmel, bevor er verdeckt wird. Schützen Sie Atemwege, Haut und Augen; großer oder wiederkehrender Befall oder Kranke im Haushalt verlangen Fachleute.',
  'weight-and-fixing':
    'Befestigen Sie die Verkleidung an den Sparren, nicht allein an der alten Platte, und prüfen Sie, ob sie sie tragen. Im Dachboden: Bretter zum Stehen, Licht und Vorsicht vor Hitze und Absturz.',
};
