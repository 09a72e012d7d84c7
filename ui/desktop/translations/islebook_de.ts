<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE TS>
<TS version="2.1" language="de_DE" sourcelanguage="en_US">
<context>
    <name>BenchFacts</name>
    <message>
        <source>Move over a map, or drag a point: what the map says there is read here.</source>
        <translation>Über ein Kennfeld fahren oder einen Punkt ziehen: Was das Kennfeld dort sagt, steht hier.</translation>
    </message>
    <message>
        <source>Look:</source>
        <translation>Ansehen:</translation>
    </message>
    <message>
        <source>Common practice, no source: the makers&apos; own limits come first.</source>
        <translation>Übliche Praxis, ohne Quelle: Die Grenzen der Hersteller gehen vor.</translation>
    </message>
    <message>
        <source>± is what the maps&apos; own uncertainty makes, one standard deviation; what is uncertain about the inputs comes on top.</source>
        <translation>± ist, was die Unsicherheit der Kennfelder selbst ausmacht, eine Standardabweichung; was an den Eingaben unsicher ist, kommt hinzu.</translation>
    </message>
    <message>
        <source>Surge margin: %1.</source>
        <translation>Pumpgrenzabstand: %1.</translation>
    </message>
    <message>
        <source>Look at</source>
        <translation>Anzusehen</translation>
    </message>
    <message>
        <source>Cautions</source>
        <translation>Warnungen</translation>
    </message>
    <message>
        <source>Left out in the case and taken as</source>
        <translation>Im Fall weggelassen und angenommen als</translation>
    </message>
    <message>
        <source>Graded by</source>
        <translation>Bewertet nach</translation>
    </message>
</context>
<context>
    <name>Help</name>
    <message>
        <source>The window</source>
        <translation>Das Fenster</translation>
    </message>
    <message>
        <source>Light table</source>
        <translation>Leuchttisch</translation>
    </message>
    <message>
        <source>Shelf</source>
        <translation>Regal</translation>
    </message>
    <message>
        <source>Bench</source>
        <translation>Prüfstand</translation>
    </message>
    <message>
        <source>What</source>
        <translation>Was</translation>
    </message>
    <message>
        <source>Key</source>
        <translation>Taste</translation>
    </message>
    <message>
        <source>On the command line</source>
        <translation>In der Befehlszeile</translation>
    </message>
    <message>
        <source>Pages with “%1”</source>
        <translation>Seiten mit „%1“</translation>
    </message>
    <message>
        <source>None. Try another word, or begin with the &lt;a href=&quot;index.html&quot;&gt;contents&lt;/a&gt;.</source>
        <translation>Keine. Ein anderes Wort versuchen oder mit dem &lt;a href=&quot;index.html&quot;&gt;Inhalt&lt;/a&gt; beginnen.</translation>
    </message>
</context>
<context>
    <name>KeyDeeds</name>
    <message>
        <source>Trusted from now on as %1.</source>
        <translation>Von nun an vertraut als %1.</translation>
    </message>
    <message>
        <source>It was trusted as %1 already.</source>
        <translation>Ihm wurde schon als %1 vertraut.</translation>
    </message>
</context>
<context>
    <name>Language</name>
    <message>
        <source>as the system</source>
        <translation>wie das System</translation>
    </message>
</context>
<context>
    <name>LightTable</name>
    <message>
        <source>1 correction</source>
        <translation>1 Korrektur</translation>
    </message>
    <message>
        <source>%1 corrections</source>
        <translation>%1 Korrekturen</translation>
    </message>
</context>
<context>
    <name>MapDeeds</name>
    <message>
        <source>%1 map</source>
        <translation>%1 Kennfeld</translation>
    </message>
    <message>
        <source>%1 maps</source>
        <translation>%1 Kennfelder</translation>
    </message>
    <message>
        <source>%1 revision</source>
        <translation>%1 Fassung</translation>
    </message>
    <message>
        <source>%1 revisions</source>
        <translation>%1 Fassungen</translation>
    </message>
    <message>
        <source>%1 sheet</source>
        <translation>%1 Blatt</translation>
    </message>
    <message>
        <source>%1 sheets</source>
        <translation>%1 Blätter</translation>
    </message>
    <message>
        <source>no sheets</source>
        <translation>keine Blätter</translation>
    </message>
    <message>
        <source>Packed %1 into %2, %3.</source>
        <translation>%1 in %2 gepackt, %3.</translation>
    </message>
    <message>
        <source>signed as %1</source>
        <translation>unterschrieben als %1</translation>
    </message>
    <message>
        <source>not signed, as this shop has no key</source>
        <translation>nicht unterschrieben, da dieser Betrieb keinen Schlüssel hat</translation>
    </message>
    <message>
        <source>Sheets that are not on the shelf, and so not in it: %1.</source>
        <translation>Blätter, die nicht im Regal und daher nicht dabei sind: %1.</translation>
    </message>
    <message>
        <source>sheets left out</source>
        <translation>ohne Blätter</translation>
    </message>
    <message>
        <source>%1 by %2</source>
        <translation>%1 von %2</translation>
    </message>
    <message>
        <source>%1 doubt</source>
        <translation>%1 Zweifel</translation>
    </message>
    <message>
        <source>%1 doubts</source>
        <translation>%1 Zweifel</translation>
    </message>
    <message>
        <source>%1 new map</source>
        <translation>%1 neues Kennfeld</translation>
    </message>
    <message>
        <source>%1 new maps</source>
        <translation>%1 neue Kennfelder</translation>
    </message>
    <message>
        <source>%1 brought forward</source>
        <translation>%1 fortgeführt</translation>
    </message>
    <message>
        <source>%1 on a branch, to be merged</source>
        <translation>%1 auf einem Zweig, zusammenzuführen</translation>
    </message>
    <message>
        <source>%1 on branches, to be merged</source>
        <translation>%1 auf Zweigen, zusammenzuführen</translation>
    </message>
    <message>
        <source>%1 was here already</source>
        <translation>%1 war schon da</translation>
    </message>
    <message>
        <source>%1 were here already</source>
        <translation>%1 waren schon da</translation>
    </message>
    <message>
        <source>wheel data that differ were left as they are here: %1</source>
        <translation>abweichende Raddaten blieben, wie sie hier sind: %1</translation>
    </message>
    <message>
        <source>Unpacked: %1.</source>
        <translation>Ausgepackt: %1.</translation>
    </message>
    <message>
        <source>The key is trusted from now on as %1. islebook parcel trust KEY --remove takes that back.</source>
        <translation>Dem Schlüssel wird von nun an als %1 vertraut. islebook parcel trust KEY --remove nimmt das zurück.</translation>
    </message>
    <message>
        <source>maps</source>
        <translation>Kennfelder</translation>
    </message>
</context>
<context>
    <name>ReadingWords</name>
    <message>
        <source>on the map</source>
        <translation>im Kennfeld</translation>
    </message>
    <message>
        <source>left of the surge line</source>
        <translation>links der Pumpgrenze</translation>
    </message>
    <message>
        <source>past choke</source>
        <translation>jenseits der Stopfgrenze</translation>
    </message>
    <message>
        <source>above the highest speed line</source>
        <translation>über der höchsten Drehzahlkennlinie</translation>
    </message>
    <message>
        <source>below the lowest speed line</source>
        <translation>unter der niedrigsten Drehzahlkennlinie</translation>
    </message>
    <message>
        <source>, PR </source>
        <translation>, Π </translation>
    </message>
    <message>
        <source>efficiency </source>
        <translation>Wirkungsgrad </translation>
    </message>
    <message>
        <source>surge </source>
        <translation>Pumpgrenzabstand </translation>
    </message>
    <message>
        <source>Corrected flow</source>
        <translation>Reduzierter Strom</translation>
    </message>
    <message>
        <source>Pressure ratio</source>
        <translation>Druckverhältnis</translation>
    </message>
    <message>
        <source>Place</source>
        <translation>Lage</translation>
    </message>
    <message>
        <source>Corrected speed</source>
        <translation>Reduzierte Drehzahl</translation>
    </message>
    <message>
        <source>Efficiency</source>
        <translation>Wirkungsgrad</translation>
    </message>
    <message>
        <source>Surge margin</source>
        <translation>Pumpgrenzabstand</translation>
    </message>
    <message>
        <source>Choke margin</source>
        <translation>Stopfgrenzabstand</translation>
    </message>
    <message>
        <source>Map width here</source>
        <translation>Kennfeldbreite hier</translation>
    </message>
    <message>
        <source>Note</source>
        <translation>Hinweis</translation>
    </message>
    <message>
        <source>room</source>
        <translation>Luft</translation>
    </message>
    <message>
        <source>unknown</source>
        <translation>unbekannt</translation>
    </message>
    <message>
        <source>close</source>
        <translation>knapp</translation>
    </message>
    <message>
        <source>over</source>
        <translation>darüber</translation>
    </message>
    <message>
        <source>, ER </source>
        <translation>, Expansionsverh. </translation>
    </message>
    <message>
        <source>off the map</source>
        <translation>außerhalb des Kennfelds</translation>
    </message>
    <message>
        <source>vanes </source>
        <translation>Leitschaufeln </translation>
    </message>
    <message>
        <source>Expansion ratio</source>
        <translation>Expansionsverhältnis</translation>
    </message>
    <message>
        <source>Vane opening</source>
        <translation>Leitschaufelstellung</translation>
    </message>
</context>
<context>
    <name>RoleWords</name>
    <message>
        <source>Speed line</source>
        <translation>Drehzahlkennlinie</translation>
    </message>
    <message>
        <source>Surge line</source>
        <translation>Pumpgrenze</translation>
    </message>
    <message>
        <source>Choke line</source>
        <translation>Stopfgrenze</translation>
    </message>
    <message>
        <source>Efficiency island</source>
        <translation>Wirkungsgradmuschel</translation>
    </message>
    <message>
        <source>Flow line</source>
        <translation>Durchsatzlinie</translation>
    </message>
    <message>
        <source>Efficiency line</source>
        <translation>Wirkungsgradlinie</translation>
    </message>
    <message>
        <source>Other curve</source>
        <translation>Andere Kurve</translation>
    </message>
</context>
<context>
    <name>Said</name>
    <message>
        <source>Corrected mass flow</source>
        <translation>Reduzierter Massenstrom</translation>
    </message>
    <message>
        <source>Corrected volume flow</source>
        <translation>Reduzierter Volumenstrom</translation>
    </message>
    <message>
        <source>Pressure ratio, total to total</source>
        <translation>Druckverhältnis, total zu total</translation>
    </message>
    <message>
        <source>Pressure ratio, total to static</source>
        <translation>Druckverhältnis, total zu statisch</translation>
    </message>
    <message>
        <source>Expansion ratio, total to static</source>
        <translation>Expansionsverhältnis, total zu statisch</translation>
    </message>
    <message>
        <source>Expansion ratio, total to total</source>
        <translation>Expansionsverhältnis, total zu total</translation>
    </message>
    <message>
        <source>Flow parameter</source>
        <translation>Durchsatzkennwert</translation>
    </message>
    <message>
        <source>Efficiency, total to static</source>
        <translation>Wirkungsgrad, total zu statisch</translation>
    </message>
    <message>
        <source>Efficiency, total to total</source>
        <translation>Wirkungsgrad, total zu total</translation>
    </message>
    <message>
        <source>Corrected speed</source>
        <translation>Reduzierte Drehzahl</translation>
    </message>
    <message>
        <source>Velocity ratio</source>
        <translation>Laufzahl</translation>
    </message>
    <message>
        <source>corrected to %1 and %2 kPa</source>
        <translation>bezogen auf %1 und %2 kPa</translation>
    </message>
    <message>
        <source>corrected to %1 and %2 kPa (assumed)</source>
        <translation>bezogen auf %1 und %2 kPa (angenommen)</translation>
    </message>
    <message>
        <source>reference conditions not stated</source>
        <translation>Bezugsbedingungen nicht angegeben</translation>
    </message>
    <message>
        <source>Engine speed, rpm</source>
        <translation>Motordrehzahl, rpm</translation>
    </message>
    <message>
        <source>Above ambient, %1</source>
        <translation>Über Umgebung, %1</translation>
    </message>
    <message>
        <source>Boost over engine speed</source>
        <translation>Ladedruck über der Motordrehzahl</translation>
    </message>
    <message>
        <source>Boost and drive pressure over engine speed</source>
        <translation>Ladedruck und Druck vor Turbine über der Motordrehzahl</translation>
    </message>
    <message>
        <source>boost</source>
        <translation>Ladedruck</translation>
    </message>
    <message>
        <source>boost, %1</source>
        <translation>Ladedruck, %1</translation>
    </message>
    <message>
        <source>drive pressure</source>
        <translation>Druck vor Turbine</translation>
    </message>
    <message>
        <source>drive pressure, %1</source>
        <translation>Druck vor Turbine, %1</translation>
    </message>
    <message>
        <source>sea level</source>
        <translation>Meereshöhe</translation>
    </message>
    <message>
        <source>%1, sea level</source>
        <translation>%1, Meereshöhe</translation>
    </message>
    <message>
        <source>Compressor map</source>
        <translation>Verdichterkennfeld</translation>
    </message>
    <message>
        <source>Turbine map</source>
        <translation>Turbinenkennfeld</translation>
    </message>
    <message>
        <source>Chart of unknown kind</source>
        <translation>Diagramm unbekannter Art</translation>
    </message>
    <message>
        <source>%1 speed line</source>
        <translation>%1 Drehzahlkennlinie</translation>
    </message>
    <message>
        <source>%1 speed lines</source>
        <translation>%1 Drehzahlkennlinien</translation>
    </message>
    <message>
        <source>%1 efficiency contour</source>
        <translation>%1 Wirkungsgradmuschel</translation>
    </message>
    <message>
        <source>%1 efficiency contours</source>
        <translation>%1 Wirkungsgradmuscheln</translation>
    </message>
    <message>
        <source>%1 flow line</source>
        <translation>%1 Durchsatzlinie</translation>
    </message>
    <message>
        <source>%1 flow lines</source>
        <translation>%1 Durchsatzlinien</translation>
    </message>
    <message>
        <source>%1 efficiency line</source>
        <translation>%1 Wirkungsgradlinie</translation>
    </message>
    <message>
        <source>%1 efficiency lines</source>
        <translation>%1 Wirkungsgradlinien</translation>
    </message>
    <message>
        <source>from %1</source>
        <translation>aus %1</translation>
    </message>
    <message>
        <source>%1 compressor maps on common axes</source>
        <translation>%1 Verdichterkennfelder auf gemeinsamen Achsen</translation>
    </message>
    <message>
        <source>%1 turbine maps on common axes</source>
        <translation>%1 Turbinenkennfelder auf gemeinsamen Achsen</translation>
    </message>
    <message>
        <source>of each the innermost efficiency island</source>
        <translation>von jedem die innerste Wirkungsgradmuschel</translation>
    </message>
    <message>
        <source>Untitled map</source>
        <translation>Kennfeld ohne Titel</translation>
    </message>
    <message>
        <source>Speed line</source>
        <translation>Drehzahlkennlinie</translation>
    </message>
    <message>
        <source>Speed line %1</source>
        <translation>Drehzahlkennlinie %1</translation>
    </message>
    <message>
        <source>Surge line</source>
        <translation>Pumpgrenze</translation>
    </message>
    <message>
        <source>Choke line</source>
        <translation>Stopfgrenze</translation>
    </message>
    <message>
        <source>Island</source>
        <translation>Wirkungsgradmuschel</translation>
    </message>
    <message>
        <source>Island %1</source>
        <translation>Wirkungsgradmuschel %1</translation>
    </message>
    <message>
        <source>Flow line</source>
        <translation>Durchsatzlinie</translation>
    </message>
    <message>
        <source>Flow line %1</source>
        <translation>Durchsatzlinie %1</translation>
    </message>
    <message>
        <source>Efficiency line</source>
        <translation>Wirkungsgradlinie</translation>
    </message>
    <message>
        <source>Efficiency line %1</source>
        <translation>Wirkungsgradlinie %1</translation>
    </message>
    <message>
        <source>Curve of unknown kind</source>
        <translation>Kurve unbekannter Art</translation>
    </message>
    <message>
        <source>Curve of unknown kind %1</source>
        <translation>Kurve unbekannter Art %1</translation>
    </message>
    <message>
        <source>the surge line</source>
        <translation>die Pumpgrenze</translation>
    </message>
    <message>
        <source>the choke line</source>
        <translation>die Stopfgrenze</translation>
    </message>
    <message>
        <source>the %1 speed line</source>
        <translation>die Drehzahlkennlinie %1</translation>
    </message>
    <message>
        <source>the %1 efficiency island</source>
        <translation>die Wirkungsgradmuschel %1</translation>
    </message>
    <message>
        <source>the %1 flow line</source>
        <translation>die Durchsatzlinie %1</translation>
    </message>
    <message>
        <source>the %1 efficiency line</source>
        <translation>die Wirkungsgradlinie %1</translation>
    </message>
    <message>
        <source>needs a look</source>
        <translation>anzusehen</translation>
    </message>
    <message>
        <source>on the map</source>
        <translation>im Kennfeld</translation>
    </message>
    <message>
        <source>outside the lines</source>
        <translation>außerhalb der Linien</translation>
    </message>
    <message>
        <source>not known</source>
        <translation>nicht bekannt</translation>
    </message>
    <message>
        <source>left of the surge line</source>
        <translation>links der Pumpgrenze</translation>
    </message>
    <message>
        <source>past choke</source>
        <translation>jenseits der Stopfgrenze</translation>
    </message>
    <message>
        <source>over speed</source>
        <translation>über der höchsten Drehzahlkennlinie</translation>
    </message>
    <message>
        <source>under speed</source>
        <translation>unter der niedrigsten Drehzahlkennlinie</translation>
    </message>
    <message>
        <source>above the highest speed line</source>
        <translation>über der höchsten Drehzahlkennlinie</translation>
    </message>
    <message>
        <source>below the lowest speed line</source>
        <translation>unter der niedrigsten Drehzahlkennlinie</translation>
    </message>
    <message>
        <source>on the map or not, that cannot be told</source>
        <translation>ob im Kennfeld oder nicht, lässt sich nicht sagen</translation>
    </message>
    <message>
        <source>%1 ± less than %2</source>
        <translation>%1 ± weniger als %2</translation>
    </message>
    <message>
        <source>surge margin</source>
        <translation>Pumpgrenzabstand</translation>
    </message>
    <message>
        <source>choke margin</source>
        <translation>Stopfgrenzabstand</translation>
    </message>
    <message>
        <source>surge margin below 0</source>
        <translation>Pumpgrenzabstand unter 0</translation>
    </message>
    <message>
        <source>choke margin below 0</source>
        <translation>Stopfgrenzabstand unter 0</translation>
    </message>
    <message>
        <source>surge margin not known</source>
        <translation>Pumpgrenzabstand nicht bekannt</translation>
    </message>
    <message>
        <source>choke margin not known</source>
        <translation>Stopfgrenzabstand nicht bekannt</translation>
    </message>
    <message>
        <source>surge margin %1</source>
        <translation>Pumpgrenzabstand %1</translation>
    </message>
    <message>
        <source>choke margin %1</source>
        <translation>Stopfgrenzabstand %1</translation>
    </message>
    <message>
        <source>speed</source>
        <translation>Drehzahl</translation>
    </message>
    <message>
        <source>speed above the highest speed line</source>
        <translation>Drehzahl über der höchsten Drehzahlkennlinie</translation>
    </message>
    <message>
        <source>speed not known</source>
        <translation>Drehzahl nicht bekannt</translation>
    </message>
    <message>
        <source>speed %1 of the maker&apos;s limit</source>
        <translation>Drehzahl %1 der Herstellergrenze</translation>
    </message>
    <message>
        <source>speed %1 of the highest speed line (no limit was given)</source>
        <translation>Drehzahl %1 der höchsten Drehzahlkennlinie (keine Grenze angegeben)</translation>
    </message>
    <message>
        <source>target</source>
        <translation>Ziel</translation>
    </message>
    <message>
        <source>target reached</source>
        <translation>Ziel erreicht</translation>
    </message>
    <message>
        <source>air flow %1 above the target</source>
        <translation>Luftmassenstrom %1 über dem Ziel</translation>
    </message>
    <message>
        <source>air flow %1 short of the target</source>
        <translation>Luftmassenstrom %1 unter dem Ziel</translation>
    </message>
    <message>
        <source>air flow %1 short of the target, with wastegate or vanes shut</source>
        <translation>Luftmassenstrom %1 unter dem Ziel, bei geschlossenem Wastegate oder geschlossenen Leitschaufeln</translation>
    </message>
    <message>
        <source>air flow %1 above the target, with wastegate or vanes wide open</source>
        <translation>Luftmassenstrom %1 über dem Ziel, bei ganz offenem Wastegate oder Leitschaufeln</translation>
    </message>
    <message>
        <source>air flow %1 short of the target, with the vanes where they bring the most</source>
        <translation>Luftmassenstrom %1 unter dem Ziel, die Leitschaufeln in bester Stellung</translation>
    </message>
    <message>
        <source>manifold pressure %1 above the target</source>
        <translation>Saugrohrdruck %1 über dem Ziel</translation>
    </message>
    <message>
        <source>manifold pressure %1 short of the target</source>
        <translation>Saugrohrdruck %1 unter dem Ziel</translation>
    </message>
    <message>
        <source>manifold pressure %1 short of the target, with wastegate or vanes shut</source>
        <translation>Saugrohrdruck %1 unter dem Ziel, bei geschlossenem Wastegate oder geschlossenen Leitschaufeln</translation>
    </message>
    <message>
        <source>manifold pressure %1 above the target, with wastegate or vanes wide open</source>
        <translation>Saugrohrdruck %1 über dem Ziel, bei ganz offenem Wastegate oder Leitschaufeln</translation>
    </message>
    <message>
        <source>manifold pressure %1 short of the target, with the vanes where they bring the most</source>
        <translation>Saugrohrdruck %1 unter dem Ziel, die Leitschaufeln in bester Stellung</translation>
    </message>
    <message>
        <source>drive pressure over boost</source>
        <translation>Druck vor Turbine zu Ladedruck</translation>
    </message>
    <message>
        <source>drive pressure %1 times the boost</source>
        <translation>Druck vor Turbine das %1-Fache des Ladedrucks</translation>
    </message>
    <message>
        <source>no boost to compare the drive pressure with</source>
        <translation>kein Ladedruck, mit dem der Druck vor Turbine zu vergleichen wäre</translation>
    </message>
    <message>
        <source>exhaust before the turbine</source>
        <translation>Abgas vor der Turbine</translation>
    </message>
    <message>
        <source>exhaust before the turbine %1</source>
        <translation>Abgas vor der Turbine %1</translation>
    </message>
    <message>
        <source>efficiency</source>
        <translation>Wirkungsgrad</translation>
    </message>
    <message>
        <source>efficiency %1</source>
        <translation>Wirkungsgrad %1</translation>
    </message>
    <message>
        <source>efficiency not on the map, %1 assumed</source>
        <translation>Wirkungsgrad nicht im Kennfeld, %1 angenommen</translation>
    </message>
    <message>
        <source>outlet temperature</source>
        <translation>Austrittstemperatur</translation>
    </message>
    <message>
        <source>outlet %1</source>
        <translation>Austritt %1</translation>
    </message>
    <message>
        <source>manifold temperature</source>
        <translation>Saugrohrtemperatur</translation>
    </message>
    <message>
        <source>manifold %1</source>
        <translation>Saugrohr %1</translation>
    </message>
    <message>
        <source>turbine at expansion ratio %1</source>
        <translation>Turbine bei Expansionsverhältnis %1</translation>
    </message>
    <message>
        <source>turbine at expansion ratio %1, beyond its map</source>
        <translation>Turbine bei Expansionsverhältnis %1, jenseits ihres Kennfelds</translation>
    </message>
    <message>
        <source>room from %1, over below %2</source>
        <translation>Luft ab %1, darüber unter %2</translation>
    </message>
    <message>
        <source>room up to %1 of the limit, over above it</source>
        <translation>Luft bis %1 der Grenze, darüber jenseits</translation>
    </message>
    <message>
        <source>room up to %1, over above %2</source>
        <translation>Luft bis %1, darüber ab %2</translation>
    </message>
    <message>
        <source>room within %1, over beyond %2 of the manifold pressure or air flow asked for</source>
        <translation>Luft innerhalb %1, darüber jenseits %2 des verlangten Saugrohrdrucks oder Luftmassenstroms</translation>
    </message>
    <message>
        <source>Room everywhere. Tightest: %1 at %2.</source>
        <translation>Überall Luft. Am engsten: %1 bei %2.</translation>
    </message>
    <message>
        <source>Close: %1 at %2.</source>
        <translation>Knapp: %1 bei %2.</translation>
    </message>
    <message>
        <source>The map does not say: %1 at %2.</source>
        <translation>Das Kennfeld sagt es nicht: %1 bei %2.</translation>
    </message>
    <message>
        <source>Over: %1 at %2.</source>
        <translation>Darüber: %1 bei %2.</translation>
    </message>
    <message>
        <source>%1 The map needs a look first: see below.</source>
        <translation>%1 Erst das Kennfeld ansehen: siehe unten.</translation>
    </message>
    <message>
        <source>%1 The maps need a look first: see below.</source>
        <translation>%1 Erst die Kennfelder ansehen: siehe unten.</translation>
    </message>
    <message>
        <source>%1 At %2 point the map does not say everything.</source>
        <translation>%1 Bei %2 Punkt sagt das Kennfeld nicht alles.</translation>
    </message>
    <message>
        <source>%1 At %2 points the map does not say everything.</source>
        <translation>%1 Bei %2 Punkten sagt das Kennfeld nicht alles.</translation>
    </message>
    <message>
        <source>%1, %2 stage</source>
        <translation>%1, Stufe %2</translation>
    </message>
    <message>
        <source>low pressure</source>
        <translation>Niederdruck</translation>
    </message>
    <message>
        <source>high pressure</source>
        <translation>Hochdruck</translation>
    </message>
    <message>
        <source>most power at this engine speed</source>
        <translation>größte Leistung bei dieser Motordrehzahl</translation>
    </message>
    <message>
        <source>lowest engine speed with this manifold pressure</source>
        <translation>niedrigste Motordrehzahl mit diesem Saugrohrdruck</translation>
    </message>
    <message>
        <source>highest altitude to which the point holds</source>
        <translation>größte Höhe, bis zu der der Punkt hält</translation>
    </message>
    <message>
        <source>no change</source>
        <translation>keine Änderung</translation>
    </message>
    <message>
        <source>%1 stage: %2</source>
        <translation>Stufe %1: %2</translation>
    </message>
    <message>
        <source>compressor %1 instead of %2</source>
        <translation>Verdichter %1 statt %2</translation>
    </message>
    <message>
        <source>compressor one size up, %1 at %2</source>
        <translation>Verdichter eine Größe größer, %1 bei %2</translation>
    </message>
    <message>
        <source>compressor one size down, %1 at %2</source>
        <translation>Verdichter eine Größe kleiner, %1 bei %2</translation>
    </message>
    <message>
        <source>turbine %1 instead of the area given</source>
        <translation>Turbine %1 statt der angegebenen Fläche</translation>
    </message>
    <message>
        <source>turbine %1 instead of %2</source>
        <translation>Turbine %1 statt %2</translation>
    </message>
    <message>
        <source>turbine one size up, %1</source>
        <translation>Turbine eine Größe größer, %1</translation>
    </message>
    <message>
        <source>turbine one size down, %1</source>
        <translation>Turbine eine Größe kleiner, %1</translation>
    </message>
    <message>
        <source>%1 instead of %2</source>
        <translation>%1 statt %2</translation>
    </message>
    <message>
        <source>wastegate port %1 instead of %2</source>
        <translation>Wastegate-Bohrung %1 statt %2</translation>
    </message>
    <message>
        <source>wastegate %1 open instead of %2</source>
        <translation>Wastegate %1 offen statt %2</translation>
    </message>
    <message>
        <source>vanes %1 open instead of %2</source>
        <translation>Leitschaufeln %1 offen statt %2</translation>
    </message>
    <message>
        <source>cooler of %1 instead of %2</source>
        <translation>Kühler mit %1 statt %2</translation>
    </message>
    <message>
        <source>pressure ratio %1 instead of %2</source>
        <translation>Druckverhältnis %1 statt %2</translation>
    </message>
    <message>
        <source>nothing within the range looked at</source>
        <translation>nichts im betrachteten Bereich</translation>
    </message>
    <message>
        <source>the case cannot be worked out</source>
        <translation>der Fall lässt sich nicht rechnen</translation>
    </message>
    <message>
        <source>no boost is reached</source>
        <translation>es wird kein Ladedruck erreicht</translation>
    </message>
    <message>
        <source>Keep every wheel below its maker&apos;s speed limit: a wheel that bursts throws fragments. The maker&apos;s limits come before anything said here.</source>
        <translation>Jedes Laufrad unter der Drehzahlgrenze seines Herstellers halten: Ein berstendes Rad schleudert Stücke. Die Grenzen des Herstellers gehen allem hier Gesagten vor.</translation>
    </message>
    <message>
        <source>Margins come from a map measured on a test stand; bends at the inlet, pulsation and altitude move the surge line. Leave room.</source>
        <translation>Die Abstände stammen aus einem am Prüfstand gemessenen Kennfeld; Krümmer im Einlass, Pulsation und Höhe verschieben die Pumpgrenze. Luft lassen.</translation>
    </message>
    <message>
        <source>More air allows more fuel, and more fuel raises cylinder pressure and exhaust temperature: stay within what the engine&apos;s maker allows.</source>
        <translation>Mehr Luft erlaubt mehr Kraftstoff, und mehr Kraftstoff erhöht Zylinderdruck und Abgastemperatur: in den Grenzen des Motorherstellers bleiben.</translation>
    </message>
    <message>
        <source>Compressor outlets, turbines and charge pipes are hot and under pressure; let them cool and bleed off before work.</source>
        <translation>Verdichteraustritt, Turbine und Ladeluftrohre sind heiß und unter Druck; vor der Arbeit abkühlen lassen und entspannen.</translation>
    </message>
    <message>
        <source>This is an aid to a trained person, not an approval. Local codes and licensed practice apply, on vessels and on the road.</source>
        <translation>Dies ist eine Hilfe für Fachleute, keine Freigabe. Örtliche Vorschriften und zugelassene Fachleute entscheiden, auf Schiffen wie auf der Straße.</translation>
    </message>
    <message>
        <source>pipes between the stages</source>
        <translation>Rohre zwischen den Stufen</translation>
    </message>
    <message>
        <source>no cooler between the stages</source>
        <translation>kein Kühler zwischen den Stufen</translation>
    </message>
    <message>
        <source>a warm coolant</source>
        <translation>ein warmes Kühlmittel</translation>
    </message>
    <message>
        <source>four-stroke</source>
        <translation>Viertakter</translation>
    </message>
    <message>
        <source>four-stroke diesel, referred to the manifold</source>
        <translation>Viertakt-Diesel, bezogen auf das Saugrohr</translation>
    </message>
    <message>
        <source>filter and duct, at every flow</source>
        <translation>Filter und Kanal, bei jedem Strom</translation>
    </message>
    <message>
        <source>cooler and pipes, at every flow</source>
        <translation>Kühler und Rohre, bei jedem Strom</translation>
    </message>
    <message>
        <source>an air-to-air cooler; write &quot;0 %&quot; where there is none</source>
        <translation>ein Luft-Luft-Kühler; &quot;0 %&quot; schreiben, wo keiner ist</translation>
    </message>
    <message>
        <source>dry air</source>
        <translation>trockene Luft</translation>
    </message>
    <message>
        <source>standard atmosphere at %1</source>
        <translation>Normatmosphäre auf %1</translation>
    </message>
    <message>
        <source>standard day</source>
        <translation>Normtag</translation>
    </message>
    <message>
        <source>10 K above ambient</source>
        <translation>10 K über Umgebung</translation>
    </message>
    <message>
        <source>air behind the grille is warmer than the day</source>
        <translation>Luft hinter dem Grill ist wärmer als der Tag</translation>
    </message>
    <message>
        <source>bearings</source>
        <translation>Lager</translation>
    </message>
    <message>
        <source>of the fuel&apos;s heat, to coolant, oil and the engine&apos;s skin</source>
        <translation>der Kraftstoffwärme, an Kühlwasser, Öl und Motoroberfläche</translation>
    </message>
    <message>
        <source>of the exhaust&apos;s heat, from a bare manifold</source>
        <translation>der Abgaswärme, von einem ungedämmten Krümmer</translation>
    </message>
    <message>
        <source>silencer and pipe, at every flow</source>
        <translation>Schalldämpfer und Rohr, bei jedem Strom</translation>
    </message>
    <message>
        <source>a loaded diesel</source>
        <translation>ein belasteter Diesel</translation>
    </message>
    <message>
        <source>x axis</source>
        <translation>x-Achse</translation>
    </message>
    <message>
        <source>y axis</source>
        <translation>y-Achse</translation>
    </message>
    <message>
        <source>no label was read for it</source>
        <translation>keine Beschriftung wurde dafür gelesen</translation>
    </message>
    <message>
        <source>no value is known for it</source>
        <translation>kein Wert ist dafür bekannt</translation>
    </message>
    <message>
        <source>no label was read; %1 follows from its neighbors</source>
        <translation>keine Beschriftung gelesen; %1 folgt aus den Nachbarn</translation>
    </message>
    <message>
        <source>its label may say %1 or %2</source>
        <translation>die Beschriftung kann %1 oder %2 heißen</translation>
    </message>
    <message>
        <source>its label reads %1; %2 is what the series says</source>
        <translation>die Beschriftung lautet %1; nach der Reihe wäre es %2</translation>
    </message>
    <message>
        <source>its label is in %1, those beside it are in %2</source>
        <translation>die Beschriftung ist in %1, die daneben in %2</translation>
    </message>
    <message>
        <source>a second number, %1, stands at this curve</source>
        <translation>eine zweite Zahl, %1, steht an dieser Kurve</translation>
    </message>
    <message>
        <source>which label belongs to it is not certain</source>
        <translation>welche Beschriftung dazugehört, ist nicht sicher</translation>
    </message>
    <message>
        <source>the value %1 is out of order among the %2</source>
        <translation>der Wert %1 steht unter den %2 außer der Reihe</translation>
    </message>
    <message>
        <source>%1 is far from the other speeds; a digit may be lost</source>
        <translation>%1 liegt weit von den anderen Drehzahlen; eine Ziffer kann fehlen</translation>
    </message>
    <message>
        <source>%1 is no multiple of %2 as the other speeds are; a digit may be misread</source>
        <translation>%1 ist anders als die anderen Drehzahlen kein Vielfaches von %2; eine Ziffer kann falsch gelesen sein</translation>
    </message>
    <message>
        <source>%1 is less round than the others; a digit may be misread</source>
        <translation>%1 ist weniger rund als die anderen; eine Ziffer kann falsch gelesen sein</translation>
    </message>
    <message>
        <source>%1 breaks the even steps of %2 that the others keep</source>
        <translation>%1 bricht die gleichen Schritte von %2, die die anderen halten</translation>
    </message>
    <message>
        <source>%1 does not fit between the islands beside it</source>
        <translation>%1 passt nicht zwischen die Muscheln daneben</translation>
    </message>
    <message>
        <source>%1 is in per cent, other efficiencies are not</source>
        <translation>%1 ist in Prozent, andere Wirkungsgrade nicht</translation>
    </message>
    <message>
        <source>it winds to and fro, as a wrongly joined line does</source>
        <translation>sie windet sich hin und her, wie eine falsch verbundene Linie</translation>
    </message>
    <message>
        <source>it bends the wrong way in places, as a wrongly joined line does</source>
        <translation>sie biegt sich stellenweise falsch, wie eine falsch verbundene Linie</translation>
    </message>
    <message>
        <source>it runs together with another line for a stretch; one of them may have left its own</source>
        <translation>sie läuft ein Stück mit einer anderen Linie zusammen; eine der beiden kann ihre eigene verlassen haben</translation>
    </message>
    <message>
        <source>it covers less of the expansion ratio than its partner of the same value</source>
        <translation>sie deckt weniger Expansionsverhältnis ab als ihr Gegenstück mit demselben Wert</translation>
    </message>
    <message>
        <source>it seems to go on beyond its end, where a piece of line was left over</source>
        <translation>sie scheint über ihr Ende hinauszugehen, wo ein Stück Linie übrig blieb</translation>
    </message>
    <message>
        <source>it ends among other lines and may go on with them</source>
        <translation>sie endet zwischen anderen Linien und geht vielleicht mit ihnen weiter</translation>
    </message>
    <message>
        <source>a stretch of it is hidden among other lines</source>
        <translation>ein Stück von ihr ist zwischen anderen Linien verborgen</translation>
    </message>
    <message>
        <source>less than half of the traced curve lies on ink</source>
        <translation>weniger als die Hälfte der nachgezogenen Kurve liegt auf Druckfarbe</translation>
    </message>
    <message>
        <source>no ink could be followed between the points given; it runs straight from one to the next</source>
        <translation>zwischen den gegebenen Stellen war keiner Druckfarbe zu folgen; sie läuft gerade von einer zur nächsten</translation>
    </message>
    <message>
        <source>no line joins its markers, and some of them may belong to the curve beside it</source>
        <translation>keine Linie verbindet ihre Marken, und einige können zur Kurve daneben gehören</translation>
    </message>
    <message>
        <source>%1 % of it is hidden under print</source>
        <translation>%1 % davon sind unter Schrift verborgen</translation>
    </message>
    <message>
        <source>it was cut off another curve; say what it is or delete it</source>
        <translation>sie wurde von einer anderen Kurve abgeschnitten; sagen, was sie ist, oder löschen</translation>
    </message>
    <message>
        <source>what this curve is could not be told</source>
        <translation>was diese Kurve ist, war nicht zu erkennen</translation>
    </message>
    <message>
        <source>it is none of the usual curves of a map</source>
        <translation>sie ist keine der üblichen Kurven eines Kennfelds</translation>
    </message>
    <message>
        <source>shaped like a speed line but drawn like an efficiency island</source>
        <translation>geformt wie eine Drehzahlkennlinie, aber gezeichnet wie eine Wirkungsgradmuschel</translation>
    </message>
    <message>
        <source>flow and efficiency lines are drawn alike; told apart by shape alone</source>
        <translation>Durchsatz- und Wirkungsgradlinien sind gleich gezeichnet; nur nach der Form unterschieden</translation>
    </message>
    <message>
        <source>a closed curve on a turbine chart</source>
        <translation>eine geschlossene Kurve in einem Turbinenkennfeld</translation>
    </message>
    <message>
        <source>a short stroke that may be no curve</source>
        <translation>ein kurzer Strich, der vielleicht keine Kurve ist</translation>
    </message>
    <message>
        <source>the program is not sure of this curve</source>
        <translation>das Programm ist sich dieser Kurve nicht sicher</translation>
    </message>
    <message>
        <source>the x axis that it is read on is in doubt</source>
        <translation>die x-Achse, an der sie gelesen ist, ist zweifelhaft</translation>
    </message>
    <message>
        <source>the y axis that it is read on is in doubt</source>
        <translation>die y-Achse, an der sie gelesen ist, ist zweifelhaft</translation>
    </message>
    <message>
        <source>no surge line was found</source>
        <translation>keine Pumpgrenze gefunden</translation>
    </message>
    <message>
        <source>no flow line was found</source>
        <translation>keine Durchsatzlinie gefunden</translation>
    </message>
    <message>
        <source>fewer than two speed lines were found</source>
        <translation>weniger als zwei Drehzahlkennlinien gefunden</translation>
    </message>
    <message>
        <source>no chart was found on the sheet</source>
        <translation>kein Diagramm auf dem Blatt gefunden</translation>
    </message>
    <message>
        <source>no chart of a compressor or turbine map was found on the sheet</source>
        <translation>kein Verdichter- oder Turbinenkennfeld auf dem Blatt gefunden</translation>
    </message>
    <message>
        <source>no numbers could be made out along the axes</source>
        <translation>an den Achsen waren keine Zahlen zu erkennen</translation>
    </message>
    <message>
        <source>a curve may be missing: no curve was found for the printed %1</source>
        <translation>eine Kurve kann fehlen: Zum gedruckten %1 wurde keine gefunden</translation>
    </message>
    <message>
        <source>a curve may be missing or in pieces: the shape of %1 is in doubt</source>
        <translation>eine Kurve kann fehlen oder zerstückelt sein: Die Form von %1 ist zweifelhaft</translation>
    </message>
    <message>
        <source>a curve may be missing: by the even steps of the others one of value %1 should stand between them</source>
        <translation>eine Kurve kann fehlen: Nach den gleichen Schritten der anderen sollte eine mit %1 dazwischen stehen</translation>
    </message>
    <message>
        <source>the x axis could not be calibrated: its numbers form no series, or what it shows is unknown</source>
        <translation>die x-Achse ließ sich nicht kalibrieren: Ihre Zahlen bilden keine Reihe, oder was sie zeigt, ist unbekannt</translation>
    </message>
    <message>
        <source>the y axis could not be calibrated: its numbers form no series, or what it shows is unknown</source>
        <translation>die y-Achse ließ sich nicht kalibrieren: Ihre Zahlen bilden keine Reihe, oder was sie zeigt, ist unbekannt</translation>
    </message>
    <message>
        <source>no unit was read on the %1 axis; %2 is assumed</source>
        <translation>an der %1-Achse wurde keine Einheit gelesen; %2 ist angenommen</translation>
    </message>
    <message>
        <source>the unit of the %1 axis was hard to read; %2 is likely</source>
        <translation>die Einheit der %1-Achse war schwer zu lesen; wahrscheinlich %2</translation>
    </message>
    <message>
        <source>what the %1 axis shows was not read; %2 is assumed</source>
        <translation>was die %1-Achse zeigt, wurde nicht gelesen; %2 ist angenommen</translation>
    </message>
    <message>
        <source>what the %1 axis shows could not be read</source>
        <translation>was die %1-Achse zeigt, war nicht zu lesen</translation>
    </message>
    <message>
        <source>the title of the %1 axis was hard to read (%2)</source>
        <translation>der Titel der %1-Achse war schwer zu lesen (%2)</translation>
    </message>
    <message>
        <source>the numbers along the axis allow another reading</source>
        <translation>die Zahlen an der Achse lassen eine andere Lesart zu</translation>
    </message>
    <message>
        <source>no ticks or grid lines stand at the numbers; their centers were used</source>
        <translation>an den Zahlen stehen keine Teilstriche oder Gitterlinien; ihre Mitten wurden benutzt</translation>
    </message>
    <message>
        <source>ticks and numbers disagree by %1 % of the axis</source>
        <translation>Teilstriche und Zahlen weichen um %1 % der Achse voneinander ab</translation>
    </message>
    <message>
        <source>%1 of %2 numbers along the axis do not fit the series</source>
        <translation>%1 von %2 Zahlen an der Achse passen nicht in die Reihe</translation>
    </message>
    <message>
        <source>only %1 numbers along the axis agree</source>
        <translation>nur %1 Zahlen an der Achse stimmen überein</translation>
    </message>
    <message>
        <source>only %1 of %2 numbers were read as they must be</source>
        <translation>nur %1 von %2 Zahlen wurden so gelesen, wie sie sein müssen</translation>
    </message>
    <message>
        <source>the axis starts far from zero (%1)</source>
        <translation>die Achse beginnt weit von null (%1)</translation>
    </message>
    <message>
        <source>the step of the numbers (%1) is unusual</source>
        <translation>der Schritt der Zahlen (%1) ist ungewöhnlich</translation>
    </message>
    <message>
        <source>a range from %1 to %2 is unusual for this axis</source>
        <translation>ein Bereich von %1 bis %2 ist für diese Achse ungewöhnlich</translation>
    </message>
    <message>
        <source>its numbers go on to %1 beyond the end of the plot that was found, which may be too short</source>
        <translation>ihre Zahlen gehen bis %1 über das gefundene Ende des Diagramms hinaus, das zu kurz sein kann</translation>
    </message>
    <message>
        <source>the sheet states two different pairs of reference conditions; the first is used</source>
        <translation>das Blatt nennt zwei verschiedene Paare von Bezugsbedingungen; das erste wird benutzt</translation>
    </message>
    <message>
        <source>reference conditions were seen but not understood: %1</source>
        <translation>Bezugsbedingungen wurden gesehen, aber nicht verstanden: %1</translation>
    </message>
    <message>
        <source>a note may state reference conditions but was not understood (%1)</source>
        <translation>eine Anmerkung nennt vielleicht Bezugsbedingungen, wurde aber nicht verstanden (%1)</translation>
    </message>
    <message>
        <source>a line of print inside the plot could not be understood; it may state reference conditions</source>
        <translation>eine Zeile Schrift im Diagramm war nicht zu verstehen; sie nennt vielleicht Bezugsbedingungen</translation>
    </message>
    <message>
        <source>Turbine: %1</source>
        <translation>Turbine: %1</translation>
    </message>
    <message>
        <source>Doubted on the map: %1. Look at its proof before relying on answers near them.</source>
        <translation>Im Kennfeld zweifelhaft: %1. Das Prüfbild ansehen, bevor man sich in der Nähe auf Antworten verlässt.</translation>
    </message>
    <message>
        <source>The speed lines carry no speed in rpm or m/s, so the wheel&apos;s speed limit cannot be checked.</source>
        <translation>Die Drehzahlkennlinien tragen keine Drehzahl in rpm oder m/s, daher lässt sich die Drehzahlgrenze des Rads nicht prüfen.</translation>
    </message>
    <message>
        <source>and %1 more doubts, listed in the map&apos;s document</source>
        <translation>und %1 weitere Zweifel, im Kennfelddokument aufgeführt</translation>
    </message>
    <message>
        <source>only %1 of %2 speed lines start at this surge line</source>
        <translation>nur %1 von %2 Drehzahlkennlinien beginnen an dieser Pumpgrenze</translation>
    </message>
    <message>
        <source>The sheet does not print its reference conditions; %1</source>
        <translation>Das Blatt druckt seine Bezugsbedingungen nicht; %1</translation>
    </message>
</context>
<context>
    <name>ShelfFinding</name>
    <message>
        <source>Maps whose left edge is doubtful, so that nothing can be told: %1.</source>
        <translation>Kennfelder mit zweifelhaftem linkem Rand, zu denen nichts gesagt werden kann: %1.</translation>
    </message>
    <message>
        <source>A point has a flow and a pressure ratio.</source>
        <translation>Ein Punkt hat einen Massenstrom und ein Druckverhältnis.</translation>
    </message>
    <message>
        <source>eff. %1</source>
        <translation>η %1</translation>
    </message>
    <message>
        <source>margin %1</source>
        <translation>Abstand %1</translation>
    </message>
    <message>
        <source>total to static</source>
        <translation>total zu statisch</translation>
    </message>
    <message>
        <source>reference conditions assumed</source>
        <translation>Bezugsbedingungen angenommen</translation>
    </message>
    <message>
        <source>flow %1 off, pressure ratio %2</source>
        <translation>Massenstrom %1 daneben, Druckverhältnis %2</translation>
    </message>
    <message>
        <source>, efficiency %1 points</source>
        <translation>, Wirkungsgrad %1 Punkte</translation>
    </message>
    <message>
        <source>No compressor here covers this point</source>
        <translation>Kein Verdichter hier deckt diesen Punkt ab</translation>
    </message>
    <message>
        <source>%1 map covers this point</source>
        <translation>%1 Kennfeld deckt diesen Punkt ab</translation>
    </message>
    <message>
        <source>%1 maps cover this point</source>
        <translation>%1 Kennfelder decken diesen Punkt ab</translation>
    </message>
    <message>
        <source>%1 more, less efficient, not listed.</source>
        <translation>%1 weitere mit geringerem Wirkungsgrad nicht aufgeführt.</translation>
    </message>
    <message>
        <source>Maps that could not be searched yet: %1.</source>
        <translation>Noch nicht durchsuchbare Kennfelder: %1.</translation>
    </message>
    <message>
        <source>the map itself</source>
        <translation>das Kennfeld selbst</translation>
    </message>
    <message>
        <source>No other compressor to compare with</source>
        <translation>Kein anderer Verdichter zum Vergleichen</translation>
    </message>
    <message>
        <source>The likest: %1</source>
        <translation>Am ähnlichsten: %1</translation>
    </message>
    <message>
        <source>Nothing was removed</source>
        <translation>Nichts wurde entfernt</translation>
    </message>
    <message>
        <source>%1 map was removed</source>
        <translation>%1 Kennfeld wurde entfernt</translation>
    </message>
    <message>
        <source>%1 maps were removed</source>
        <translation>%1 Kennfelder wurden entfernt</translation>
    </message>
    <message>
        <source>No map fits</source>
        <translation>Kein Kennfeld passt</translation>
    </message>
    <message>
        <source>%1 map fits</source>
        <translation>%1 Kennfeld passt</translation>
    </message>
    <message>
        <source>%1 maps fit</source>
        <translation>%1 Kennfelder passen</translation>
    </message>
    <message>
        <source>Only the best are listed; say more.</source>
        <translation>Nur die besten sind aufgeführt; mehr angeben.</translation>
    </message>
</context>
<context>
    <name>ShownChart</name>
    <message>
        <source>Speed %1</source>
        <translation>Drehzahl %1</translation>
    </message>
    <message>
        <source>Vane opening %1</source>
        <translation>Leitschaufelstellung %1</translation>
    </message>
    <message>
        <source>%1: %2</source>
        <translation>%1: %2</translation>
    </message>
    <message>
        <source>%1 %2</source>
        <translation>%1 %2</translation>
    </message>
    <message>
        <source>It cannot be asked: %1</source>
        <translation>Es lässt sich nicht befragen: %1</translation>
    </message>
    <message>
        <source>Efficiency %1</source>
        <translation>Wirkungsgrad %1</translation>
    </message>
    <message>
        <source>Surge margin %1</source>
        <translation>Pumpgrenzabstand %1</translation>
    </message>
    <message>
        <source>Choke margin %1</source>
        <translation>Stopfgrenzabstand %1</translation>
    </message>
</context>
<context>
    <name>TopLine</name>
    <message>
        <source>No curves on this sheet</source>
        <translation>Keine Kurven auf diesem Blatt</translation>
    </message>
    <message>
        <source>Nothing to look at</source>
        <translation>Nichts anzusehen</translation>
    </message>
    <message>
        <source>1 thing about the sheet needs a look</source>
        <translation>1 Sache am Blatt ist anzusehen</translation>
    </message>
    <message>
        <source>%1 things about the sheet need a look</source>
        <translation>%1 Sachen am Blatt sind anzusehen</translation>
    </message>
    <message>
        <source>1 curve needs a look</source>
        <translation>1 Kurve ist anzusehen</translation>
    </message>
    <message>
        <source>%1 curves need a look</source>
        <translation>%1 Kurven sind anzusehen</translation>
    </message>
    <message>
        <source>%1, and 1 thing about the sheet</source>
        <translation>%1, dazu 1 Sache am Blatt</translation>
    </message>
    <message>
        <source>%1, and %2 things about the sheet</source>
        <translation>%1, dazu %2 Sachen am Blatt</translation>
    </message>
</context>
<context>
    <name>islebook::AcceptForm</name>
    <message>
        <source>Put it on the shelf</source>
        <translation>Ins Regal stellen</translation>
    </message>
    <message>
        <source>Name</source>
        <translation>Name</translation>
    </message>
    <message>
        <source>By</source>
        <translation>Von</translation>
    </message>
    <message>
        <source>Remark</source>
        <translation>Vermerk</translation>
    </message>
    <message>
        <source>The map&apos;s name on the shelf</source>
        <translation>Der Name des Kennfelds im Regal</translation>
    </message>
</context>
<context>
    <name>islebook::AltitudeBar</name>
    <message>
        <source>F&amp;an from sea level</source>
        <translation>&amp;Fächer ab Meereshöhe</translation>
    </message>
    <message>
        <source>A&amp;ltitude</source>
        <translation>&amp;Höhe</translation>
    </message>
    <message>
        <source>Altitude of the case</source>
        <translation>Höhe des Falls</translation>
    </message>
    <message>
        <source>Writes altitude under [ambient]: pressure as in the standard atmosphere, temperature as the case says.
altitude = &quot;1500 m&quot; in the case file</source>
        <translation>Schreibt altitude unter [ambient]: Druck wie in der Normatmosphäre, Temperatur wie im Fall.
altitude = &quot;1500 m&quot; in der Falldatei</translation>
    </message>
    <message>
        <source>Works every point out at sea level, half way and at this altitude.
altitude = [&quot;0 m&quot;, &quot;750 m&quot;, &quot;1500 m&quot;] in the case file</source>
        <translation>Rechnet jeden Punkt auf Meereshöhe, auf halber und auf dieser Höhe.
altitude = [&quot;0 m&quot;, &quot;750 m&quot;, &quot;1500 m&quot;] in der Falldatei</translation>
    </message>
    <message>
        <source>The barometer that the case had gives way to the altitude; undo brings it back.</source>
        <translation>Der Luftdruck, den der Fall angab, weicht der Höhe; Rückgängig bringt ihn wieder.</translation>
    </message>
    <message>
        <source>Points with an altitude or barometer of their own keep it.</source>
        <translation>Punkte mit eigener Höhe oder eigenem Luftdruck behalten sie.</translation>
    </message>
</context>
<context>
    <name>islebook::AxesFacts</name>
    <message>
        <source>printed</source>
        <translation>gedruckt</translation>
    </message>
    <message>
        <source>Across</source>
        <translation>Waagerecht</translation>
    </message>
    <message>
        <source>Up</source>
        <translation>Senkrecht</translation>
    </message>
    <message>
        <source>Right side</source>
        <translation>Rechte Seite</translation>
    </message>
    <message>
        <source>Reference</source>
        <translation>Bezug</translation>
    </message>
    <message>
        <source>Reference temperature</source>
        <translation>Bezugstemperatur</translation>
    </message>
    <message>
        <source>Reference pressure</source>
        <translation>Bezugsdruck</translation>
    </message>
    <message>
        <source>With its unit: 28.4 inHg, 96.2 kPa, 981 mbar
islebook digitize --recipe FILE (set_reference)</source>
        <translation>Mit Einheit: 981 mbar, 96.2 kPa, 28.4 inHg
islebook digitize --recipe FILE (set_reference)</translation>
    </message>
    <message>
        <source>The sheet prints these reference conditions; otherwise they are an assumption</source>
        <translation>Diese Bezugsbedingungen stehen auf dem Blatt; sonst sind sie eine Annahme</translation>
    </message>
    <message>
        <source>Title</source>
        <translation>Titel</translation>
    </message>
    <message>
        <source>Title of the map</source>
        <translation>Titel des Kennfelds</translation>
    </message>
    <message>
        <source>%1: what the axis shows</source>
        <translation>%1: was die Achse zeigt</translation>
    </message>
    <message>
        <source>%1
islebook digitize --recipe FILE (set_axis)</source>
        <translation>%1
islebook digitize --recipe FILE (set_axis)</translation>
    </message>
    <message>
        <source>value at this end of the frame: left or bottom</source>
        <translation>Wert an diesem Ende des Rahmens: links oder unten</translation>
    </message>
    <message>
        <source>value at this end of the frame: right or top</source>
        <translation>Wert an diesem Ende des Rahmens: rechts oder oben</translation>
    </message>
    <message>
        <source>unit as printed; 1 for none</source>
        <translation>Einheit wie gedruckt; 1 für keine</translation>
    </message>
    <message>
        <source>to</source>
        <translation>bis</translation>
    </message>
    <message>
        <source>log</source>
        <translation>log</translation>
    </message>
    <message>
        <source>The axis is logarithmic
islebook digitize --recipe FILE (set_axis)</source>
        <translation>Die Achse ist logarithmisch geteilt
islebook digitize --recipe FILE (set_axis)</translation>
    </message>
    <message>
        <source>The unit: %1</source>
        <translation>Die Einheit: %1</translation>
    </message>
    <message>
        <source>A map&apos;s axis cannot be in %1; give one of lb/min, kg/s, m³/s, 1, % and their like.</source>
        <translation>Die Achse eines Kennfelds kann nicht in %1 sein; möglich sind kg/s, m³/s, lb/min, 1, % und ähnliche.</translation>
    </message>
    <message>
        <source>The axis end: %1</source>
        <translation>Das Achsenende: %1</translation>
    </message>
    <message>
        <source>An axis runs from one value to another: its ends cannot be alike.</source>
        <translation>Eine Achse läuft von einem Wert zu einem anderen: Ihre Enden können nicht gleich sein.</translation>
    </message>
    <message>
        <source>A logarithmic axis has ends above zero.</source>
        <translation>Die Enden einer logarithmischen Achse liegen über null.</translation>
    </message>
    <message>
        <source>axis %1</source>
        <translation>Achse %1</translation>
    </message>
    <message>
        <source>The units database cannot be read; see the installation.</source>
        <translation>Die Einheitentabelle ist nicht lesbar; bitte die Installation prüfen.</translation>
    </message>
    <message>
        <source>%1: %2 is not an absolute %3.</source>
        <translation>%1: %2 ist nicht absolut (%3).</translation>
    </message>
    <message>
        <source>A reference pressure lies between 10 and 1,000 kPa.</source>
        <translation>Ein Bezugsdruck liegt zwischen 10 und 1,000 kPa.</translation>
    </message>
    <message>
        <source>reference conditions</source>
        <translation>Bezugsbedingungen</translation>
    </message>
    <message>
        <source>title</source>
        <translation>Titel</translation>
    </message>
    <message>
        <source>With its unit: 85 °F, 29.4 °C, 298 K
islebook digitize --recipe FILE (set_reference)</source>
        <translation>Mit Einheit: 29.4 °C, 298 K, 85 °F
islebook digitize --recipe FILE (set_reference)</translation>
    </message>
    <message>
        <source>A reference temperature lies between -123 and 227 °C.</source>
        <translation>Eine Bezugstemperatur liegt zwischen -123 und 227 °C.</translation>
    </message>
</context>
<context>
    <name>islebook::BenchOutputs</name>
    <message>
        <source>Wrote %1.</source>
        <translation>%1 ist geschrieben.</translation>
    </message>
    <message>
        <source>Sent to the printer %1.</source>
        <translation>An den Drucker %1 geschickt.</translation>
    </message>
</context>
<context>
    <name>islebook::BenchRoom</name>
    <message>
        <source>New</source>
        <translation>Neu</translation>
    </message>
    <message>
        <source>a new text file, as mapstore/bench/CASE_FILE.md describes it</source>
        <translation>eine neue Textdatei, wie mapstore/bench/CASE_FILE.md sie beschreibt</translation>
    </message>
    <message>
        <source>Open</source>
        <translation>Öffnen</translation>
    </message>
    <message>
        <source>Save</source>
        <translation>Sichern</translation>
    </message>
    <message>
        <source>the case is a text file</source>
        <translation>der Fall ist eine Textdatei</translation>
    </message>
    <message>
        <source>Save under a name</source>
        <translation>Sichern unter</translation>
    </message>
    <message>
        <source>Undo</source>
        <translation>Rückgängig</translation>
    </message>
    <message>
        <source>Redo</source>
        <translation>Wiederholen</translation>
    </message>
    <message>
        <source>Report (PDF)</source>
        <translation>Bericht (PDF)</translation>
    </message>
    <message>
        <source>Print</source>
        <translation>Drucken</translation>
    </message>
    <message>
        <source>Charts</source>
        <translation>Diagramme</translation>
    </message>
    <message>
        <source>Data (JSON)</source>
        <translation>Daten (JSON)</translation>
    </message>
    <message>
        <source>Copy table</source>
        <translation>Tabelle kopieren</translation>
    </message>
    <message>
        <source>Copy picture</source>
        <translation>Bild kopieren</translation>
    </message>
    <message>
        <source>What to change first</source>
        <translation>Was zuerst ändern</translation>
    </message>
    <message>
        <source>Go to the worst point</source>
        <translation>Zum schlechtesten Punkt</translation>
    </message>
    <message>
        <source>the report&apos;s first line</source>
        <translation>die erste Zeile des Berichts</translation>
    </message>
    <message>
        <source>Form or text</source>
        <translation>Formular oder Text</translation>
    </message>
    <message>
        <source>for the eye only</source>
        <translation>nur fürs Auge</translation>
    </message>
    <message>
        <source>Hide or show the case</source>
        <translation>Fall aus- oder einblenden</translation>
    </message>
    <message>
        <source>Open a case</source>
        <translation>Fall öffnen</translation>
    </message>
    <message>
        <source>Cases (*.toml)</source>
        <translation>Fälle (*.toml)</translation>
    </message>
    <message>
        <source>Save the case</source>
        <translation>Fall sichern</translation>
    </message>
    <message>
        <source>The report</source>
        <translation>Der Bericht</translation>
    </message>
    <message>
        <source>PDF (*.pdf)</source>
        <translation>PDF (*.pdf)</translation>
    </message>
    <message>
        <source>The charts</source>
        <translation>Die Diagramme</translation>
    </message>
    <message>
        <source>SVG (*.svg);;PNG (*.png);;PDF (*.pdf)</source>
        <translation>SVG (*.svg);;PNG (*.png);;PDF (*.pdf)</translation>
    </message>
    <message>
        <source>The data</source>
        <translation>Die Daten</translation>
    </message>
    <message>
        <source>JSON (*.json)</source>
        <translation>JSON (*.json)</translation>
    </message>
    <message>
        <source>The verdict table is on the clipboard.</source>
        <translation>Die Tabelle der Befunde ist in der Zwischenablage.</translation>
    </message>
    <message>
        <source>The map of %1 is on the clipboard.</source>
        <translation>Das Kennfeld von %1 ist in der Zwischenablage.</translation>
    </message>
    <message>
        <source>The example is a copy: change what you like, save it under a name of your own.</source>
        <translation>Das Beispiel ist eine Kopie: beliebig ändern und unter eigenem Namen sichern.</translation>
    </message>
    <message>
        <source>No case on the bench</source>
        <translation>Kein Fall auf dem Prüfstand</translation>
    </message>
    <message>
        <source>A case is an engine, the air it breathes, its compressors and the points to check.
The bench says where each point lies on each map, and how far it is from surge, choke and the speed limit.</source>
        <translation>Ein Fall ist ein Motor, die Luft, die er atmet, seine Verdichter und die Punkte, die zu prüfen sind.
Der Prüfstand sagt, wo jeder Punkt in jedem Kennfeld liegt und wie weit es zur Pumpgrenze, zur Stopfgrenze und zur Drehzahlgrenze ist.</translation>
    </message>
    <message>
        <source>Or begin with an example of Tarnside Engine Works</source>
        <translation>Oder mit einem Beispiel der Tarnside Engine Works beginnen</translation>
    </message>
    <message>
        <source>islebook bench %1</source>
        <translation>islebook bench %1</translation>
    </message>
    <message>
        <source>Verdicts</source>
        <translation>Befunde</translation>
    </message>
    <message>
        <source>Taken into the case: %1. Undo takes it back.</source>
        <translation>In den Fall übernommen: %1. Rückgängig nimmt es zurück.</translation>
    </message>
    <message>
        <source>Form</source>
        <translation>Formular</translation>
    </message>
    <message>
        <source>Text</source>
        <translation>Text</translation>
    </message>
    <message>
        <source>Boost and drive pressure over engine speed</source>
        <translation>Ladedruck und Druck vor Turbine über der Motordrehzahl</translation>
    </message>
    <message>
        <source>Read on the map</source>
        <translation>Im Kennfeld gelesen</translation>
    </message>
    <message>
        <source>The chosen point, and notes</source>
        <translation>Der gewählte Punkt, und Anmerkungen</translation>
    </message>
    <message>
        <source>Out</source>
        <translation>Ausgabe</translation>
    </message>
    <message>
        <source>Go on with it</source>
        <translation>Weiterarbeiten</translation>
    </message>
    <message>
        <source>Drop it</source>
        <translation>Verwerfen</translation>
    </message>
    <message>
        <source>A case was left unfinished on %1: %2.</source>
        <translation>Ein Fall blieb am %1 unfertig: %2.</translation>
    </message>
    <message>
        <source>a new case</source>
        <translation>ein neuer Fall</translation>
    </message>
    <message>
        <source>%1 has changes that are not saved: save it, or undo them, then open another.</source>
        <translation>%1 hat ungesicherte Änderungen: erst sichern oder rückgängig machen, dann einen anderen öffnen.</translation>
    </message>
    <message>
        <source>Saved %1.</source>
        <translation>%1 ist gesichert.</translation>
    </message>
    <message>
        <source>%1 has changes that are not saved: save it, or undo them, then begin another.</source>
        <translation>%1 hat ungesicherte Änderungen: erst sichern oder rückgängig machen, dann einen neuen beginnen.</translation>
    </message>
    <message>
        <source>%1 is a turbine: open a case first, or send a compressor to the bench.</source>
        <translation>%1 ist eine Turbine: erst einen Fall öffnen oder einen Verdichter auf den Prüfstand schicken.</translation>
    </message>
    <message>
        <source>%1 is now the %2 of stage %3; undo takes it back.</source>
        <translation>%1 ist jetzt %2 der Stufe %3; Rückgängig nimmt es zurück.</translation>
    </message>
    <message>
        <source>turbine</source>
        <translation>Turbine</translation>
    </message>
    <message>
        <source>compressor</source>
        <translation>Verdichter</translation>
    </message>
    <message>
        <source>The case cannot be kept against a crash: the folder %1 cannot be written.</source>
        <translation>Der Fall kann nicht gegen einen Absturz aufbewahrt werden: In den Ordner %1 lässt sich nicht schreiben.</translation>
    </message>
    <message>
        <source>Line %1: %2</source>
        <translation>Zeile %1: %2</translation>
    </message>
    <message>
        <source>Line %1 of the case is wrong; the charts show the case before it</source>
        <translation>Zeile %1 des Falls ist falsch; die Diagramme zeigen den Fall davor</translation>
    </message>
    <message>
        <source>The case cannot be worked out</source>
        <translation>Der Fall lässt sich nicht rechnen</translation>
    </message>
    <message>
        <source>%1, not saved</source>
        <translation>%1, nicht gesichert</translation>
    </message>
    <message>
        <source>Bench</source>
        <translation>Prüfstand</translation>
    </message>
    <message>
        <source>Go on with %1</source>
        <translation>Weiter mit %1</translation>
    </message>
    <message>
        <source>%1: there is nothing to do that with now.</source>
        <translation>%1: Dafür ist jetzt nichts da.</translation>
    </message>
    <message>
        <source>Add an operating point</source>
        <translation>Betriebspunkt hinzufügen</translation>
    </message>
    <message>
        <source>[[point]] in the case file</source>
        <translation>[[point]] in der Falldatei</translation>
    </message>
    <message>
        <source>Remove the chosen operating point</source>
        <translation>Den gewählten Betriebspunkt entfernen</translation>
    </message>
    <message>
        <source>Add a stage behind the last</source>
        <translation>Eine Stufe hinter der letzten hinzufügen</translation>
    </message>
    <message>
        <source>[[stage]] in the case file</source>
        <translation>[[stage]] in der Falldatei</translation>
    </message>
    <message>
        <source>Fan from sea level</source>
        <translation>Fächer ab Meereshöhe</translation>
    </message>
    <message>
        <source>altitude = [&quot;0 m&quot;, &quot;750 m&quot;, &quot;1500 m&quot;] in the case file</source>
        <translation>altitude = [&quot;0 m&quot;, &quot;750 m&quot;, &quot;1500 m&quot;] in der Falldatei</translation>
    </message>
    <message>
        <source>Go to the line that is wrong</source>
        <translation>Zur falschen Zeile</translation>
    </message>
    <message>
        <source>the line that islebook bench names</source>
        <translation>die Zeile, die islebook bench nennt</translation>
    </message>
    <message>
        <source>Take the chosen change into the case</source>
        <translation>Die gewählte Änderung in den Fall übernehmen</translation>
    </message>
    <message>
        <source>Stop the search for what to change first</source>
        <translation>Die Suche nach dem, was zuerst zu ändern ist, anhalten</translation>
    </message>
    <message>
        <source>Ctrl+C while islebook bench runs</source>
        <translation>Strg+C während islebook bench läuft</translation>
    </message>
    <message>
        <source>Go on with the case that was left unfinished</source>
        <translation>Mit dem unfertigen Fall weiterarbeiten</translation>
    </message>
    <message>
        <source>Drop the case that was left unfinished</source>
        <translation>Den unfertigen Fall verwerfen</translation>
    </message>
    <message>
        <source>Remove the chosen stage</source>
        <translation>Die gewählte Stufe entfernen</translation>
    </message>
    <message>
        <source>A case has one stage at least.</source>
        <translation>Ein Fall hat mindestens eine Stufe.</translation>
    </message>
    <message>
        <source>To the altitude</source>
        <translation>Zur Höhe</translation>
    </message>
    <message>
        <source>altitude in the case file</source>
        <translation>altitude in der Falldatei</translation>
    </message>
    <message>
        <source>Compressor maps or turbine maps</source>
        <translation>Verdichter- oder Turbinenkennfelder</translation>
    </message>
    <message>
        <source>for the eye only; islebook chart MAP draws either</source>
        <translation>nur fürs Auge; islebook chart MAP zeichnet beide</translation>
    </message>
    <message>
        <source>The case has no turbine map: give a stage one, and it is shown.</source>
        <translation>Der Fall hat kein Turbinenkennfeld: einer Stufe eines geben, dann wird es gezeigt.</translation>
    </message>
    <message>
        <source>Read on the next map with the arrow keys</source>
        <translation>Im nächsten Kennfeld mit den Pfeiltasten ablesen</translation>
    </message>
    <message>
        <source>There is no map on the bench yet.</source>
        <translation>Auf dem Prüfstand ist noch kein Kennfeld.</translation>
    </message>
    <message>
        <source>Compressors</source>
        <translation>Verdichter</translation>
    </message>
    <message>
        <source>Turbines</source>
        <translation>Turbinen</translation>
    </message>
    <message>
        <source>%1, turbine</source>
        <translation>%1, Turbine</translation>
    </message>
    <message>
        <source>%1 worked out in %2 ms.</source>
        <translation>%1 in %2 ms gerechnet.</translation>
    </message>
    <message>
        <source>1 point</source>
        <translation>1 Punkt</translation>
    </message>
    <message>
        <source>%1 points</source>
        <translation>%1 Punkte</translation>
    </message>
    <message>
        <source>Verdicts, and what to change first</source>
        <translation>Befunde, und was zuerst zu ändern ist</translation>
    </message>
    <message>
        <source>The case, as a form or as its text</source>
        <translation>Der Fall, als Formular oder als Text</translation>
    </message>
</context>
<context>
    <name>islebook::CaseDocument</name>
    <message>
        <source>new case</source>
        <translation>neuer Fall</translation>
    </message>
</context>
<context>
    <name>islebook::CaseForm</name>
    <message>
        <source>Boost (gauge)</source>
        <translation>Ladedruck (Überdruck)</translation>
    </message>
    <message>
        <source>Manifold, absolute</source>
        <translation>Saugrohr, absolut</translation>
    </message>
    <message>
        <source>Power</source>
        <translation>Leistung</translation>
    </message>
    <message>
        <source>Air flow</source>
        <translation>Luftmassenstrom</translation>
    </message>
    <message>
        <source>Fuel rate</source>
        <translation>Kraftstoffstrom</translation>
    </message>
    <message>
        <source>The case as a form</source>
        <translation>Der Fall als Formular</translation>
    </message>
    <message>
        <source>In the case&apos;s text: %1</source>
        <translation>Im Text des Falls: %1</translation>
    </message>
    <message>
        <source>A name on the shelf (NAME or NAME@REVISION) or a map file beside the case</source>
        <translation>Ein Name im Regal (NAME oder NAME@FASSUNG) oder eine Kennfelddatei neben dem Fall</translation>
    </message>
    <message>
        <source>none, or an area below</source>
        <translation>keine, oder eine Fläche darunter</translation>
    </message>
    <message>
        <source>a map of the shelf</source>
        <translation>ein Kennfeld aus dem Regal</translation>
    </message>
    <message>
        <source>What fixes the point</source>
        <translation>Was den Punkt festlegt</translation>
    </message>
    <message>
        <source>Target of every point that has none of its own</source>
        <translation>Ziel jedes Punkts ohne eigenes</translation>
    </message>
    <message>
        <source>Holds</source>
        <translation>Vorgabe</translation>
    </message>
    <message>
        <source>each point its own</source>
        <translation>je Punkt eigen</translation>
    </message>
    <message>
        <source>Stage</source>
        <translation>Stufe</translation>
    </message>
    <message>
        <source>Stage 1, first in the air (the large one)</source>
        <translation>Stufe 1, zuerst im Luftweg (die große)</translation>
    </message>
    <message>
        <source>Stage %1</source>
        <translation>Stufe %1</translation>
    </message>
    <message>
        <source>Remove</source>
        <translation>Entfernen</translation>
    </message>
    <message>
        <source>Remove stage %1</source>
        <translation>Stufe %1 entfernen</translation>
    </message>
    <message>
        <source>Compressor</source>
        <translation>Verdichter</translation>
    </message>
    <message>
        <source>Called</source>
        <translation>Genannt</translation>
    </message>
    <message>
        <source>low pressure</source>
        <translation>Niederdruck</translation>
    </message>
    <message>
        <source>Speed limit (maker&apos;s)</source>
        <translation>Drehzahlgrenze (Herst.)</translation>
    </message>
    <message>
        <source>Efficiency off the map</source>
        <translation>Wirkungsgrad außerhalb</translation>
    </message>
    <message>
        <source>Loss before it</source>
        <translation>Verlust davor</translation>
    </message>
    <message>
        <source>Cooler before it</source>
        <translation>Kühler davor</translation>
    </message>
    <message>
        <source>Its coolant</source>
        <translation>Dessen Kühlmittel</translation>
    </message>
    <message>
        <source>Pressure ratio</source>
        <translation>Druckverhältnis</translation>
    </message>
    <message>
        <source>follows from the shaft</source>
        <translation>folgt aus der Welle</translation>
    </message>
    <message>
        <source>least work</source>
        <translation>kleinste Arbeit</translation>
    </message>
    <message>
        <source>Turbine</source>
        <translation>Turbine</translation>
    </message>
    <message>
        <source>or its effective area</source>
        <translation>oder wirksame Fläche</translation>
    </message>
    <message>
        <source>none: no turbine side</source>
        <translation>keine: ohne Turbinenseite</translation>
    </message>
    <message>
        <source>Turbine efficiency</source>
        <translation>Turbinenwirkungsgrad</translation>
    </message>
    <message>
        <source>Wastegate bore</source>
        <translation>Wastegate-Bohrung</translation>
    </message>
    <message>
        <source>no port</source>
        <translation>keine</translation>
    </message>
    <message>
        <source>Wastegate held at</source>
        <translation>Wastegate fest bei</translation>
    </message>
    <message>
        <source>it regulates</source>
        <translation>regelt</translation>
    </message>
    <message>
        <source>Vanes held at</source>
        <translation>Leitschaufeln fest bei</translation>
    </message>
    <message>
        <source>they regulate</source>
        <translation>regeln</translation>
    </message>
    <message>
        <source>Shaft efficiency</source>
        <translation>Mech. Wirkungsgrad</translation>
    </message>
    <message>
        <source>What the points&apos; last column holds</source>
        <translation>Was die letzte Spalte der Punkte vorgibt</translation>
    </message>
    <message>
        <source>Add</source>
        <translation>Hinzufügen</translation>
    </message>
    <message>
        <source>Add an operating point</source>
        <translation>Betriebspunkt hinzufügen</translation>
    </message>
    <message>
        <source>Remove the chosen operating point</source>
        <translation>Den gewählten Betriebspunkt entfernen</translation>
    </message>
    <message>
        <source>Operating points</source>
        <translation>Betriebspunkte</translation>
    </message>
    <message>
        <source>Each holds</source>
        <translation>Vorgabe je Punkt</translation>
    </message>
    <message>
        <source>Name</source>
        <translation>Name</translation>
    </message>
    <message>
        <source>Speed</source>
        <translation>Drehzahl</translation>
    </message>
    <message>
        <source>%1 %2</source>
        <translation>%1 %2</translation>
    </message>
    <message>
        <source>Empty: as under Engine</source>
        <translation>Leer: wie unter Motor</translation>
    </message>
    <message>
        <source>This point holds another target: %1. What you write here takes its place.</source>
        <translation>Dieser Punkt hat eine andere Vorgabe: %1. Was hier eingetragen wird, ersetzt sie.</translation>
    </message>
    <message>
        <source>Case</source>
        <translation>Fall</translation>
    </message>
    <message>
        <source>Title</source>
        <translation>Titel</translation>
    </message>
    <message>
        <source>a line for the report</source>
        <translation>eine Zeile für den Bericht</translation>
    </message>
    <message>
        <source>Engine</source>
        <translation>Motor</translation>
    </message>
    <message>
        <source>Displacement</source>
        <translation>Hubraum</translation>
    </message>
    <message>
        <source>or per cylinder</source>
        <translation>oder je Zylinder</translation>
    </message>
    <message>
        <source>Cylinders</source>
        <translation>Zylinder</translation>
    </message>
    <message>
        <source>Strokes</source>
        <translation>Takte</translation>
    </message>
    <message>
        <source>Speed points</source>
        <translation>Drehzahlen</translation>
    </message>
    <message>
        <source>Volumetric efficiency</source>
        <translation>Liefergrad</translation>
    </message>
    <message>
        <source>Air-fuel ratio</source>
        <translation>Luft/Kraftstoff</translation>
    </message>
    <message>
        <source>Fuel per work</source>
        <translation>Spez. Verbrauch</translation>
    </message>
    <message>
        <source>Another stage behind</source>
        <translation>Weitere Stufe dahinter</translation>
    </message>
    <message>
        <source>Add a compressor behind the last</source>
        <translation>Einen Verdichter hinter dem letzten hinzufügen</translation>
    </message>
    <message>
        <source>Ambient</source>
        <translation>Umgebung</translation>
    </message>
    <message>
        <source>Altitude</source>
        <translation>Höhe</translation>
    </message>
    <message>
        <source>sea level</source>
        <translation>Meereshöhe</translation>
    </message>
    <message>
        <source>or barometer</source>
        <translation>oder Luftdruck</translation>
    </message>
    <message>
        <source>Temperature</source>
        <translation>Temperatur</translation>
    </message>
    <message>
        <source>standard atmosphere</source>
        <translation>Normatmosphäre</translation>
    </message>
    <message>
        <source>Relative humidity</source>
        <translation>Rel. Feuchte</translation>
    </message>
    <message>
        <source>Air path and cooler</source>
        <translation>Luftweg und Ladeluftkühler</translation>
    </message>
    <message>
        <source>Inlet loss</source>
        <translation>Ansaugverlust</translation>
    </message>
    <message>
        <source>Cooler loss</source>
        <translation>Kühlerverlust</translation>
    </message>
    <message>
        <source>Cooler effectiveness</source>
        <translation>Rückkühlgrad</translation>
    </message>
    <message>
        <source>Coolant</source>
        <translation>Kühlmittel</translation>
    </message>
    <message>
        <source>ambient plus 10 K</source>
        <translation>Umgebung plus 10 K</translation>
    </message>
    <message>
        <source>Exhaust</source>
        <translation>Abgas</translation>
    </message>
    <message>
        <source>Behind the valves</source>
        <translation>Nach den Ventilen</translation>
    </message>
    <message>
        <source>from the energy balance</source>
        <translation>aus der Energiebilanz</translation>
    </message>
    <message>
        <source>Heat to coolant</source>
        <translation>Wärme ins Kühlwasser</translation>
    </message>
    <message>
        <source>Heat lost</source>
        <translation>Wärmeverlust</translation>
    </message>
    <message>
        <source>Back pressure</source>
        <translation>Gegendruck n. Turbine</translation>
    </message>
    <message>
        <source>Graded by</source>
        <translation>Bewertet nach</translation>
    </message>
    <message>
        <source>Surge margin, room</source>
        <translation>Pumpgrenzabstand, Luft</translation>
    </message>
    <message>
        <source>Choke margin, room</source>
        <translation>Stopfgrenzabstand, Luft</translation>
    </message>
    <message>
        <source>Speed, room</source>
        <translation>Drehzahl, Luft</translation>
    </message>
    <message>
        <source>Outlet, over</source>
        <translation>Austritt, darüber</translation>
    </message>
    <message>
        <source>Before turbine, over</source>
        <translation>Vor Turbine, darüber</translation>
    </message>
    <message>
        <source>%1, taken</source>
        <translation>%1, angenommen</translation>
    </message>
</context>
<context>
    <name>islebook::CaseText</name>
    <message>
        <source>The case&apos;s text</source>
        <translation>Der Text des Falls</translation>
    </message>
</context>
<context>
    <name>islebook::ChartView</name>
    <message>
        <source>The calibrated chart stands here once the sheet is read.</source>
        <translation>Hier steht das kalibrierte Diagramm, sobald das Blatt gelesen ist.</translation>
    </message>
</context>
<context>
    <name>islebook::CurveFacts</name>
    <message>
        <source>What the chosen curve is</source>
        <translation>Was die gewählte Kurve ist</translation>
    </message>
    <message>
        <source>Value</source>
        <translation>Wert</translation>
    </message>
    <message>
        <source>Value of the chosen curve</source>
        <translation>Wert der gewählten Kurve</translation>
    </message>
    <message>
        <source>none</source>
        <translation>keiner</translation>
    </message>
    <message>
        <source>None. Click a curve, or press Page Down.</source>
        <translation>Keine. Eine Kurve anklicken oder Bild ab drücken.</translation>
    </message>
    <message>
        <source>None.</source>
        <translation>Keine.</translation>
    </message>
    <message>
        <source>%1 points</source>
        <translation>%1 Punkte</translation>
    </message>
    <message>
        <source>±%1 px</source>
        <translation>±%1 px</translation>
    </message>
    <message>
        <source>confidence %1</source>
        <translation>Sicherheit %1</translation>
    </message>
    <message>
        <source>closed</source>
        <translation>geschlossen</translation>
    </message>
    <message>
        <source>Choose a curve first, then type its value.</source>
        <translation>Erst eine Kurve wählen, dann ihren Wert tippen.</translation>
    </message>
    <message>
        <source>The value: %1</source>
        <translation>Der Wert: %1</translation>
    </message>
    <message>
        <source>A curve&apos;s value has no such unit: give rpm, krpm, m/s, % or none.</source>
        <translation>Diese Einheit hat kein Kurvenwert: rpm, krpm, m/s, % oder keine.</translation>
    </message>
</context>
<context>
    <name>islebook::Drawer</name>
    <message>
        <source>Close</source>
        <translation>Schließen</translation>
    </message>
    <message>
        <source>Close  [Esc]</source>
        <translation>Schließen  [Esc]</translation>
    </message>
</context>
<context>
    <name>islebook::ExampleOpener</name>
    <message>
        <source>Digitizing the example sheet of %1.</source>
        <translation>Das Beispielblatt von %1 wird digitalisiert.</translation>
    </message>
</context>
<context>
    <name>islebook::HabitsPanel</name>
    <message>
        <source>Air flow</source>
        <translation>Luftmassenstrom</translation>
    </message>
    <message>
        <source>Pressure</source>
        <translation>Druck</translation>
    </message>
    <message>
        <source>Temperature</source>
        <translation>Temperatur</translation>
    </message>
    <message>
        <source>Wheel speed</source>
        <translation>Laufraddrehzahl</translation>
    </message>
    <message>
        <source>Power</source>
        <translation>Leistung</translation>
    </message>
    <message>
        <source>Altitude</source>
        <translation>Höhe</translation>
    </message>
    <message>
        <source>units = &quot;si, %1 ...&quot; in the case file</source>
        <translation>units = &quot;si, %1 ...&quot; in der Falldatei</translation>
    </message>
    <message>
        <source>Language</source>
        <translation>Sprache</translation>
    </message>
    <message>
        <source>The window opens anew in it; work that is not finished is offered back.
islebook-desktop --language de</source>
        <translation>Das Fenster öffnet sich neu in ihr; unfertige Arbeit wird wieder angeboten.
islebook-desktop --language de</translation>
    </message>
    <message>
        <source>Close</source>
        <translation>Schließen</translation>
    </message>
    <message>
        <source>Close  [Esc]</source>
        <translation>Schließen  [Esc]</translation>
    </message>
</context>
<context>
    <name>islebook::HelpPane</name>
    <message>
        <source>Help</source>
        <translation>Hilfe</translation>
    </message>
    <message>
        <source>Back</source>
        <translation>Zurück</translation>
    </message>
    <message>
        <source>The page before  [Alt+Left]</source>
        <translation>Die vorige Seite  [Alt+Links]</translation>
    </message>
    <message>
        <source>Contents</source>
        <translation>Inhalt</translation>
    </message>
    <message>
        <source>All pages</source>
        <translation>Alle Seiten</translation>
    </message>
    <message>
        <source>Search the help</source>
        <translation>Hilfe durchsuchen</translation>
    </message>
    <message>
        <source>Close</source>
        <translation>Schließen</translation>
    </message>
    <message>
        <source>Close  [Esc]</source>
        <translation>Schließen  [Esc]</translation>
    </message>
    <message>
        <source>The help page</source>
        <translation>Die Hilfeseite</translation>
    </message>
    <message>
        <source>islebook COMMAND --help</source>
        <translation>islebook COMMAND --help</translation>
    </message>
</context>
<context>
    <name>islebook::HistoryPanel</name>
    <message>
        <source>History; one revision shows that state, two show what changed</source>
        <translation>Verlauf; eine Fassung zeigt diesen Stand, zwei zeigen, was sich änderte</translation>
    </message>
    <message>
        <source>Last change</source>
        <translation>Letzte Änderung</translation>
    </message>
    <message>
        <source>islebook shelf diff NAME</source>
        <translation>islebook shelf diff NAME</translation>
    </message>
    <message>
        <source>Go back to it</source>
        <translation>Dahin zurück</translation>
    </message>
    <message>
        <source>islebook shelf revert NAME@REVISION</source>
        <translation>islebook shelf revert NAME@REVISION</translation>
    </message>
    <message>
        <source>Merge branch</source>
        <translation>Zweig zusammenführen</translation>
    </message>
    <message>
        <source>islebook shelf merge NAME BRANCH</source>
        <translation>islebook shelf merge NAME BRANCH</translation>
    </message>
    <message>
        <source>History</source>
        <translation>Verlauf</translation>
    </message>
    <message>
        <source>Branch “%2”: %1 revision of its own</source>
        <translation>Zweig „%2“: %1 eigene Fassung</translation>
    </message>
    <message>
        <source>Branch “%2”: %1 revisions of its own</source>
        <translation>Zweig „%2“: %1 eigene Fassungen</translation>
    </message>
    <message>
        <source>Branch to merge</source>
        <translation>Zweig zum Zusammenführen</translation>
    </message>
</context>
<context>
    <name>islebook::ImportPage</name>
    <message>
        <source>Take it over</source>
        <translation>Übernehmen</translation>
    </message>
    <message>
        <source>islebook import FILE</source>
        <translation>islebook import FILE</translation>
    </message>
    <message>
        <source>As a correction of the chosen map</source>
        <translation>Als Korrektur des gewählten Kennfelds</translation>
    </message>
    <message>
        <source>islebook import FILE --corrects NAME</source>
        <translation>islebook import FILE --corrects NAME</translation>
    </message>
    <message>
        <source>As a map of its own</source>
        <translation>Als eigenes Kennfeld</translation>
    </message>
    <message>
        <source>islebook import FILE --new</source>
        <translation>islebook import FILE --new</translation>
    </message>
    <message>
        <source>A table of curves, not yet taken over</source>
        <translation>Eine Kurventabelle, noch nicht übernommen</translation>
    </message>
    <message>
        <source>%1 says the same as %2: there is nothing to take over.</source>
        <translation>%1 sagt dasselbe wie %2: Es gibt nichts zu übernehmen.</translation>
    </message>
    <message>
        <source>%2 corrects %3: %1 change.</source>
        <translation>%2 korrigiert %3: %1 Änderung.</translation>
    </message>
    <message>
        <source>%2 corrects %3: %1 changes.</source>
        <translation>%2 korrigiert %3: %1 Änderungen.</translation>
    </message>
    <message>
        <source>The map&apos;s recipe takes them too: they stand when the sheet is digitized again.</source>
        <translation>Auch das Rezept des Kennfelds übernimmt sie: Sie bleiben, wenn das Blatt neu digitalisiert wird.</translation>
    </message>
    <message>
        <source>%2 is a map of its own, with %1 curve. It becomes %3.</source>
        <translation>%2 ist ein eigenes Kennfeld mit %1 Kurve. Es wird %3.</translation>
    </message>
    <message>
        <source>%2 is a map of its own, with %1 curves. It becomes %3.</source>
        <translation>%2 ist ein eigenes Kennfeld mit %1 Kurven. Es wird %3.</translation>
    </message>
    <message>
        <source>To look at: %1</source>
        <translation>Anzusehen: %1</translation>
    </message>
    <message>
        <source>What the table changes</source>
        <translation>Was die Tabelle ändert</translation>
    </message>
</context>
<context>
    <name>islebook::KeysPage</name>
    <message>
        <source>Make this shop&apos;s key</source>
        <translation>Schlüssel dieses Betriebs anlegen</translation>
    </message>
    <message>
        <source>islebook parcel key --name SHOP</source>
        <translation>islebook parcel key --name SHOP</translation>
    </message>
    <message>
        <source>Write it for others</source>
        <translation>Für andere schreiben</translation>
    </message>
    <message>
        <source>islebook parcel key --out FILE</source>
        <translation>islebook parcel key --out FILE</translation>
    </message>
    <message>
        <source>Trust it</source>
        <translation>Vertrauen</translation>
    </message>
    <message>
        <source>First compare it with that shop by another way.
islebook parcel trust KEY --name SHOP</source>
        <translation>Erst auf anderem Weg mit jenem Betrieb vergleichen.
islebook parcel trust KEY --name SHOP</translation>
    </message>
    <message>
        <source>Trust no longer</source>
        <translation>Nicht mehr vertrauen</translation>
    </message>
    <message>
        <source>islebook parcel trust KEY --remove</source>
        <translation>islebook parcel trust KEY --remove</translation>
    </message>
    <message>
        <source>The name of this shop</source>
        <translation>Der Name dieses Betriebs</translation>
    </message>
    <message>
        <source>Another shop&apos;s key: its 64 digits, or the file it sent</source>
        <translation>Schlüssel eines anderen Betriebs: 64 Zeichen, oder die Datei</translation>
    </message>
    <message>
        <source>The name of that shop, where the key does not say</source>
        <translation>Der Name jenes Betriebs, wo der Schlüssel ihn nicht nennt</translation>
    </message>
    <message>
        <source>Keys that are trusted</source>
        <translation>Schlüssel, denen vertraut wird</translation>
    </message>
    <message>
        <source>Keys: who packed a parcel</source>
        <translation>Schlüssel: wer ein Paket gepackt hat</translation>
    </message>
    <message>
        <source>Browse</source>
        <translation>Durchsuchen</translation>
    </message>
    <message>
        <source>Look for the key&apos;s file</source>
        <translation>Die Schlüsseldatei suchen</translation>
    </message>
    <message>
        <source>This shop signs as %1. Its key, for others to compare: %2</source>
        <translation>Dieser Betrieb unterschreibt als %1. Sein Schlüssel, zum Vergleichen für andere: %2</translation>
    </message>
    <message>
        <source>This shop has no key yet, so its parcels are not signed. A key is made once and never replaced.</source>
        <translation>Dieser Betrieb hat noch keinen Schlüssel, seine Pakete sind daher nicht unterschrieben. Ein Schlüssel wird einmal angelegt und nie ersetzt.</translation>
    </message>
    <message>
        <source>No other shop&apos;s key is trusted yet.</source>
        <translation>Noch wird keinem fremden Schlüssel vertraut.</translation>
    </message>
</context>
<context>
    <name>islebook::LightTable</name>
    <message>
        <source>How far the sheet is read</source>
        <translation>Wie weit das Blatt gelesen ist</translation>
    </message>
    <message>
        <source>Stop</source>
        <translation>Halt</translation>
    </message>
    <message>
        <source>Stop reading the sheet  [Esc]
Ctrl+C while islebook digitize runs</source>
        <translation>Das Lesen des Blatts anhalten  [Esc]
Strg+C während islebook digitize läuft</translation>
    </message>
    <message>
        <source>Page of the file</source>
        <translation>Seite der Datei</translation>
    </message>
    <message>
        <source>islebook digitize --page N</source>
        <translation>islebook digitize --page N</translation>
    </message>
    <message>
        <source>Map of the sheet</source>
        <translation>Kennfeld des Blatts</translation>
    </message>
    <message>
        <source>Next sheet</source>
        <translation>Nächstes Blatt</translation>
    </message>
    <message>
        <source>The sheet</source>
        <translation>Das Blatt</translation>
    </message>
    <message>
        <source>Lay a sheet on the table: drop a file here, open one (Ctrl+O) or paste a picture (Ctrl+V).

A scan, a picture from the web, a page of a PDF or a photograph will do. It is read at once; what is doubtful is marked for you to look at.</source>
        <translation>Ein Blatt auf den Tisch legen: eine Datei hier fallen lassen, eine öffnen (Strg+O) oder ein Bild einfügen (Strg+V).

Ein Scan, ein Bild aus dem Netz, eine PDF-Seite oder ein Foto genügt. Es wird sofort gelesen; was zweifelhaft ist, wird zum Ansehen markiert.</translation>
    </message>
    <message>
        <source>Values at the place pointed at</source>
        <translation>Werte an der gezeigten Stelle</translation>
    </message>
    <message>
        <source>The chart drawn anew from the numbers</source>
        <translation>Das aus den Zahlen neu gezeichnete Diagramm</translation>
    </message>
    <message>
        <source>What needs a look</source>
        <translation>Was anzusehen ist</translation>
    </message>
    <message>
        <source>To look at</source>
        <translation>Anzusehen</translation>
    </message>
    <message>
        <source>Chosen curve</source>
        <translation>Gewählte Kurve</translation>
    </message>
    <message>
        <source>Put the map and its sheet on the shelf  [Ctrl+Return]
islebook shelf add FILE --sheet SHEET --name NAME --message WORDS</source>
        <translation>Kennfeld und Blatt ins Regal stellen  [Strg+Eingabe]
islebook shelf add FILE --sheet SHEET --name NAME --message WORDS</translation>
    </message>
    <message>
        <source>Onto the shelf</source>
        <translation>Ins Regal</translation>
    </message>
    <message>
        <source>Stopped. What is shown is the state before the last change; undo it or change something to go on.</source>
        <translation>Angehalten. Gezeigt wird der Stand vor der letzten Änderung; rückgängig machen oder etwas ändern, um fortzufahren.</translation>
    </message>
    <message>
        <source>Stopped. Open the sheet again to read it anew.</source>
        <translation>Angehalten. Das Blatt erneut öffnen, um es neu zu lesen.</translation>
    </message>
    <message>
        <source>of %1</source>
        <translation>von %1</translation>
    </message>
    <message>
        <source>Work on %1 %2 was not finished (%3).</source>
        <translation>Die Arbeit an %1 %2 blieb unfertig (%3).</translation>
    </message>
    <message>
        <source>Go on</source>
        <translation>Weiter</translation>
    </message>
    <message>
        <source>Put away</source>
        <translation>Weglegen</translation>
    </message>
    <message>
        <source>Put away. Should you want it after all, its sheet and recipe are in %1.</source>
        <translation>Weggelegt. Falls doch noch gebraucht: Blatt und Rezept liegen in %1.</translation>
    </message>
    <message>
        <source>1 more sheet waits: %1.</source>
        <translation>1 weiteres Blatt wartet: %1.</translation>
    </message>
    <message>
        <source>%1 more sheets wait; the next is %2.</source>
        <translation>%1 weitere Blätter warten; das nächste ist %2.</translation>
    </message>
    <message>
        <source>%1 is no sheet: a picture, a PDF or an SVG page is.</source>
        <translation>%1 ist kein Blatt: Ein Bild, eine PDF- oder SVG-Seite ist eines.</translation>
    </message>
    <message>
        <source>There is no picture on the clipboard. Copy one, then paste it here.</source>
        <translation>In der Zwischenablage ist kein Bild. Erst eines kopieren, dann hier einfügen.</translation>
    </message>
    <message>
        <source>pasted-%1.png</source>
        <translation>eingefuegt-%1.png</translation>
    </message>
    <message>
        <source>dropped-%1.png</source>
        <translation>abgelegt-%1.png</translation>
    </message>
    <message>
        <source> of %1</source>
        <translation> von %1</translation>
    </message>
    <message>
        <source>%1 has several pages. Which one holds the map?</source>
        <translation>%1 hat mehrere Seiten. Auf welcher ist das Kennfeld?</translation>
    </message>
    <message>
        <source>%1: %2</source>
        <translation>%1: %2</translation>
    </message>
    <message>
        <source>%1 curves</source>
        <translation>%1 Kurven</translation>
    </message>
    <message>
        <source>This sheet holds %1 maps. Each goes onto the shelf by itself.</source>
        <translation>Dieses Blatt enthält %1 Kennfelder. Jedes kommt für sich ins Regal.</translation>
    </message>
    <message>
        <source>digitized from %1</source>
        <translation>digitalisiert von %1</translation>
    </message>
    <message>
        <source>%1, %2</source>
        <translation>%1, %2</translation>
    </message>
    <message>
        <source>Reading the sheet</source>
        <translation>Das Blatt wird gelesen</translation>
    </message>
    <message>
        <source>The sheet is not read</source>
        <translation>Das Blatt ist nicht gelesen</translation>
    </message>
    <message>
        <source>No sheet on the table</source>
        <translation>Kein Blatt auf dem Tisch</translation>
    </message>
    <message>
        <source>opening the sheet</source>
        <translation>Blatt öffnen</translation>
    </message>
    <message>
        <source>evening out light and paper</source>
        <translation>Licht und Papier ausgleichen</translation>
    </message>
    <message>
        <source>reading the drawing</source>
        <translation>Zeichnung lesen</translation>
    </message>
    <message>
        <source>looking for lines</source>
        <translation>Linien suchen</translation>
    </message>
    <message>
        <source>looking for print</source>
        <translation>Schrift suchen</translation>
    </message>
    <message>
        <source>reading the axes</source>
        <translation>Achsen lesen</translation>
    </message>
    <message>
        <source>following the curves</source>
        <translation>Kurven verfolgen</translation>
    </message>
    <message>
        <source>telling what each curve is</source>
        <translation>Kurven zuordnen</translation>
    </message>
    <message>
        <source>done</source>
        <translation>fertig</translation>
    </message>
    <message>
        <source>working</source>
        <translation>in Arbeit</translation>
    </message>
    <message>
        <source>Reading the sheet: %1.</source>
        <translation>Das Blatt wird gelesen: %1.</translation>
    </message>
    <message>
        <source>%1   %2</source>
        <translation>%1   %2</translation>
    </message>
    <message>
        <source>The sheet is still being read; put the map on the shelf once it is done.</source>
        <translation>Das Blatt wird noch gelesen; danach kann das Kennfeld ins Regal.</translation>
    </message>
    <message>
        <source>Say who puts the map on the shelf: your name goes into its history.</source>
        <translation>Bitte angeben, wer das Kennfeld ins Regal stellt: Der Name geht in den Verlauf ein.</translation>
    </message>
    <message>
        <source> 1 doubt goes with it.</source>
        <translation> 1 Zweifel geht mit.</translation>
    </message>
    <message>
        <source> %1 doubts go with it.</source>
        <translation> %1 Zweifel gehen mit.</translation>
    </message>
    <message>
        <source>%1 is on the shelf, revision %2.</source>
        <translation>%1 steht im Regal, Fassung %2.</translation>
    </message>
    <message>
        <source>The shelf holds this very map already, as %1, revision %2.</source>
        <translation>Genau dieses Kennfeld steht schon im Regal, als %1, Fassung %2.</translation>
    </message>
    <message>
        <source>The recipe is in %1. The same map again: islebook digitize %2 --recipe %1 --out DIR</source>
        <translation>Das Rezept steht in %1. Dasselbe Kennfeld noch einmal: islebook digitize %2 --recipe %1 --out DIR</translation>
    </message>
    <message>
        <source>%1: %2 %3</source>
        <translation>%1: %2 %3</translation>
    </message>
    <message>
        <source>recipe from %1</source>
        <translation>Rezept aus %1</translation>
    </message>
    <message>
        <source>Light table</source>
        <translation>Leuchttisch</translation>
    </message>
    <message>
        <source>for the eye only; islebook digitize --proof draws the curves over the sheet</source>
        <translation>nur fürs Auge; islebook digitize --proof zeichnet die Kurven über das Blatt</translation>
    </message>
    <message>
        <source>Open a sheet</source>
        <translation>Ein Blatt öffnen</translation>
    </message>
    <message>
        <source>Open</source>
        <translation>Öffnen</translation>
    </message>
    <message>
        <source>Sheets (*.jpg *.jpeg *.png *.tif *.tiff *.webp *.bmp *.pbm *.pgm *.ppm *.pnm *.pdf *.svg);;All files (*)</source>
        <translation>Blätter (*.jpg *.jpeg *.png *.tif *.tiff *.webp *.bmp *.pbm *.pgm *.ppm *.pnm *.pdf *.svg);;Alle Dateien (*)</translation>
    </message>
    <message>
        <source>Paste a sheet from the clipboard</source>
        <translation>Ein Blatt aus der Zwischenablage einfügen</translation>
    </message>
    <message>
        <source>islebook digitize FILE, the picture saved as a file</source>
        <translation>islebook digitize FILE, das Bild als Datei gesichert</translation>
    </message>
    <message>
        <source>Paste</source>
        <translation>Einfügen</translation>
    </message>
    <message>
        <source>Undo</source>
        <translation>Rückgängig</translation>
    </message>
    <message>
        <source>Do it again</source>
        <translation>Wiederholen</translation>
    </message>
    <message>
        <source>Redo</source>
        <translation>Wiederholen</translation>
    </message>
    <message>
        <source>Trace a curve through a few places</source>
        <translation>Eine Kurve über wenige Stellen nachziehen</translation>
    </message>
    <message>
        <source>Cut a curve in two</source>
        <translation>Eine Kurve zerschneiden</translation>
    </message>
    <message>
        <source>Join two curves</source>
        <translation>Zwei Kurven verbinden</translation>
    </message>
    <message>
        <source>Move the plot&apos;s corners</source>
        <translation>Die Ecken des Diagramms verschieben</translation>
    </message>
    <message>
        <source>Trace</source>
        <translation>Ziehen</translation>
    </message>
    <message>
        <source>Cut</source>
        <translation>Schneiden</translation>
    </message>
    <message>
        <source>Join</source>
        <translation>Verbinden</translation>
    </message>
    <message>
        <source>Corners</source>
        <translation>Ecken</translation>
    </message>
    <message>
        <source>Delete the chosen curve</source>
        <translation>Die gewählte Kurve löschen</translation>
    </message>
    <message>
        <source>Delete</source>
        <translation>Löschen</translation>
    </message>
    <message>
        <source>The chosen curve is right as it is</source>
        <translation>Die gewählte Kurve stimmt so</translation>
    </message>
    <message>
        <source>It is right</source>
        <translation>Stimmt so</translation>
    </message>
    <message>
        <source>Give the chosen curve its value; or just type the number</source>
        <translation>Der gewählten Kurve ihren Wert geben; oder einfach die Zahl tippen</translation>
    </message>
    <message>
        <source>Value</source>
        <translation>Wert</translation>
    </message>
    <message>
        <source>It is a speed line (of a turbine: a flow line)</source>
        <translation>Es ist eine Drehzahlkennlinie (bei Turbinen: eine Durchsatzlinie)</translation>
    </message>
    <message>
        <source>It is the surge line</source>
        <translation>Es ist die Pumpgrenze</translation>
    </message>
    <message>
        <source>It is the choke line</source>
        <translation>Es ist die Stopfgrenze</translation>
    </message>
    <message>
        <source>It is an efficiency island (of a turbine: an efficiency line)</source>
        <translation>Es ist eine Wirkungsgradmuschel (bei Turbinen: eine Wirkungsgradlinie)</translation>
    </message>
    <message>
        <source>It is none of these</source>
        <translation>Es ist nichts davon</translation>
    </message>
    <message>
        <source>Go to the next doubt</source>
        <translation>Zum nächsten Zweifel</translation>
    </message>
    <message>
        <source>the list that islebook digitize prints</source>
        <translation>die Liste, die islebook digitize ausgibt</translation>
    </message>
    <message>
        <source>Next doubt</source>
        <translation>Nächster Zweifel</translation>
    </message>
    <message>
        <source>Go to the doubt before</source>
        <translation>Zum vorigen Zweifel</translation>
    </message>
    <message>
        <source>Doubt before</source>
        <translation>Voriger Zweifel</translation>
    </message>
    <message>
        <source>Choose the next curve</source>
        <translation>Die nächste Kurve wählen</translation>
    </message>
    <message>
        <source>Next curve</source>
        <translation>Nächste Kurve</translation>
    </message>
    <message>
        <source>Choose the curve before</source>
        <translation>Die vorige Kurve wählen</translation>
    </message>
    <message>
        <source>Curve before</source>
        <translation>Vorige Kurve</translation>
    </message>
    <message>
        <source>Put the axis across right</source>
        <translation>Die waagerechte Achse berichtigen</translation>
    </message>
    <message>
        <source>Axis across</source>
        <translation>Achse waagerecht</translation>
    </message>
    <message>
        <source>Put the axis up right</source>
        <translation>Die senkrechte Achse berichtigen</translation>
    </message>
    <message>
        <source>Axis up</source>
        <translation>Achse senkrecht</translation>
    </message>
    <message>
        <source>Put the reference conditions right</source>
        <translation>Die Bezugsbedingungen berichtigen</translation>
    </message>
    <message>
        <source>Reference</source>
        <translation>Bezug</translation>
    </message>
    <message>
        <source>It is the other kind of map: compressor or turbine</source>
        <translation>Es ist die andere Art Kennfeld: Verdichter oder Turbine</translation>
    </message>
    <message>
        <source>islebook digitize --kind compressor|turbine</source>
        <translation>islebook digitize --kind compressor|turbine</translation>
    </message>
    <message>
        <source>Kind</source>
        <translation>Art</translation>
    </message>
    <message>
        <source>Show the whole sheet</source>
        <translation>Das ganze Blatt zeigen</translation>
    </message>
    <message>
        <source>Whole</source>
        <translation>Ganz</translation>
    </message>
    <message>
        <source>Show the sheet pixel for pixel</source>
        <translation>Das Blatt Pixel für Pixel zeigen</translation>
    </message>
    <message>
        <source>1:1</source>
        <translation>1:1</translation>
    </message>
    <message>
        <source>Enlarge</source>
        <translation>Vergrößern</translation>
    </message>
    <message>
        <source>Larger</source>
        <translation>Größer</translation>
    </message>
    <message>
        <source>Make smaller</source>
        <translation>Verkleinern</translation>
    </message>
    <message>
        <source>Smaller</source>
        <translation>Kleiner</translation>
    </message>
    <message>
        <source>A loupe under the mouse or the cross</source>
        <translation>Eine Lupe unter der Maus oder dem Kreuz</translation>
    </message>
    <message>
        <source>Loupe</source>
        <translation>Lupe</translation>
    </message>
    <message>
        <source>Show the sheet with its light and paper evened out</source>
        <translation>Das Blatt mit ausgeglichenem Licht und Papier zeigen</translation>
    </message>
    <message>
        <source>islebook digitize --stages DIR (the page)</source>
        <translation>islebook digitize --stages DIR (die Seite)</translation>
    </message>
    <message>
        <source>Evened out</source>
        <translation>Geglättet</translation>
    </message>
    <message>
        <source>Show the curves over the sheet</source>
        <translation>Die Kurven über dem Blatt zeigen</translation>
    </message>
    <message>
        <source>islebook digitize --proof</source>
        <translation>islebook digitize --proof</translation>
    </message>
    <message>
        <source>Curves</source>
        <translation>Kurven</translation>
    </message>
    <message>
        <source>Save the recipe</source>
        <translation>Rezept sichern</translation>
    </message>
    <message>
        <source>There is no sheet on the table, and so no recipe.</source>
        <translation>Es liegt kein Blatt auf dem Tisch, also gibt es kein Rezept.</translation>
    </message>
    <message>
        <source>Put the map on the shelf</source>
        <translation>Das Kennfeld ins Regal stellen</translation>
    </message>
    <message>
        <source>islebook shelf add FILE --sheet SHEET --name NAME --message WORDS</source>
        <translation>islebook shelf add FILE --sheet SHEET --name NAME --message WORDS</translation>
    </message>
    <message>
        <source>Put it on the shelf</source>
        <translation>Ins Regal stellen</translation>
    </message>
    <message>
        <source>Stop: the tool, else the reading</source>
        <translation>Halt: das Werkzeug, sonst das Lesen</translation>
    </message>
    <message>
        <source>Ctrl+C while islebook digitize runs</source>
        <translation>Strg+C während islebook digitize läuft</translation>
    </message>
    <message>
        <source>the recipe without its last correction</source>
        <translation>das Rezept ohne seine letzte Korrektur</translation>
    </message>
    <message>
        <source>the recipe with that correction again</source>
        <translation>das Rezept wieder mit dieser Korrektur</translation>
    </message>
    <message>
        <source>The work could not be kept for the case of a crash: %1 Save the recipe now and then.</source>
        <translation>Die Arbeit konnte nicht gegen einen Absturz aufbewahrt werden: %1 Das Rezept ab und zu sichern.</translation>
    </message>
    <message>
        <source>%1: point at 2 to 4 places along it; it snaps to the ink between them. Double click or Enter twice ends, at the first place closes it. S, G, K, E, O change what it is. Esc stops.</source>
        <translation>%1: auf 2 bis 4 Stellen der Linie zeigen; dazwischen folgt sie der Druckfarbe. Doppelklick oder zweimal Eingabe beendet, an der ersten Stelle wird sie geschlossen. S, G, K, E, O ändern, was sie ist. Esc bricht ab.</translation>
    </message>
    <message>
        <source>Point at the place where the curve is to be cut. Esc stops.</source>
        <translation>Auf die Stelle zeigen, an der die Kurve geschnitten werden soll. Esc bricht ab.</translation>
    </message>
    <message>
        <source>Point at the curve that belongs to the chosen one. Esc stops.</source>
        <translation>Auf die Kurve zeigen, die zur gewählten gehört. Esc bricht ab.</translation>
    </message>
    <message>
        <source>Point at the first of the two curves. Esc stops.</source>
        <translation>Auf die erste der beiden Kurven zeigen. Esc bricht ab.</translation>
    </message>
    <message>
        <source>Drag a corner; the drawn lines near it are followed, with Shift it stays exactly there. Keys: P takes the next corner, arrows move it, Enter sets it. Esc ends.</source>
        <translation>Eine Ecke ziehen; sie folgt den gedruckten Linien in der Nähe, mit Umschalt bleibt sie genau dort. Tasten: P nimmt die nächste Ecke, Pfeile verschieben, Eingabe setzt sie. Esc beendet.</translation>
    </message>
    <message>
        <source>There is no curve at that place. Point closer to one, or press Esc.</source>
        <translation>Dort ist keine Kurve. Näher auf eine zeigen oder Esc drücken.</translation>
    </message>
    <message>
        <source>cut</source>
        <translation>Schnitt</translation>
    </message>
    <message>
        <source>There is no other curve at that place. Point closer to one, or press Esc.</source>
        <translation>Dort ist keine andere Kurve. Näher auf eine zeigen oder Esc drücken.</translation>
    </message>
    <message>
        <source>join</source>
        <translation>Verbindung</translation>
    </message>
    <message>
        <source>A curve needs two places at least. Point at another one, or press Esc.</source>
        <translation>Eine Kurve braucht mindestens zwei Stellen. Auf eine weitere zeigen oder Esc drücken.</translation>
    </message>
    <message>
        <source>trace</source>
        <translation>nachgezogen</translation>
    </message>
    <message>
        <source>Traced. Type its value, if it carries one.</source>
        <translation>Nachgezogen. Ihren Wert tippen, falls sie einen trägt.</translation>
    </message>
    <message>
        <source>corners</source>
        <translation>Ecken</translation>
    </message>
    <message>
        <source>A turbine&apos;s map has neither a surge line nor a choke line.</source>
        <translation>Ein Turbinenkennfeld hat weder Pumpgrenze noch Stopfgrenze.</translation>
    </message>
    <message>
        <source>role</source>
        <translation>Art</translation>
    </message>
    <message>
        <source>value</source>
        <translation>Wert</translation>
    </message>
    <message>
        <source>Nothing about this curve is in doubt.</source>
        <translation>An dieser Kurve ist nichts zweifelhaft.</translation>
    </message>
    <message>
        <source>it is right</source>
        <translation>stimmt so</translation>
    </message>
    <message>
        <source>delete</source>
        <translation>gelöscht</translation>
    </message>
    <message>
        <source>Trace the chosen curve anew: it goes away for the new one</source>
        <translation>Die gewählte Kurve neu ziehen: Sie weicht der neuen</translation>
    </message>
    <message>
        <source>Anew</source>
        <translation>Neu</translation>
    </message>
    <message>
        <source>Copy the curves and the chart</source>
        <translation>Kurven und Diagramm kopieren</translation>
    </message>
    <message>
        <source>islebook export FILE --curves CSV; islebook chart FILE --png FILE</source>
        <translation>islebook export FILE --curves CSV; islebook chart FILE --png FILE</translation>
    </message>
    <message>
        <source>Copy</source>
        <translation>Kopieren</translation>
    </message>
    <message>
        <source>On the clipboard: the curves as a table, and the chart as a picture.</source>
        <translation>In der Zwischenablage: die Kurven als Tabelle und das Diagramm als Bild.</translation>
    </message>
    <message>
        <source>Turn to the next page of the file</source>
        <translation>Zur nächsten Seite der Datei</translation>
    </message>
    <message>
        <source>Next page</source>
        <translation>Nächste Seite</translation>
    </message>
    <message>
        <source>Turn to the page before</source>
        <translation>Zur vorigen Seite</translation>
    </message>
    <message>
        <source>Page before</source>
        <translation>Vorige Seite</translation>
    </message>
    <message>
        <source>Show the next map of the sheet</source>
        <translation>Das nächste Kennfeld des Blatts zeigen</translation>
    </message>
    <message>
        <source>islebook digitize writes STEM-2.map.json for the second</source>
        <translation>islebook digitize schreibt STEM-2.map.json für das zweite</translation>
    </message>
    <message>
        <source>Next map</source>
        <translation>Nächstes Kennfeld</translation>
    </message>
    <message>
        <source>Open the next of the sheets that wait</source>
        <translation>Das nächste wartende Blatt öffnen</translation>
    </message>
    <message>
        <source>islebook digitize SHEET SHEET... --out DIR</source>
        <translation>islebook digitize SHEET SHEET... --out DIR</translation>
    </message>
    <message>
        <source>No further sheet waits.</source>
        <translation>Kein weiteres Blatt wartet.</translation>
    </message>
    <message>
        <source>Go on with the work that was not finished</source>
        <translation>Mit der unfertigen Arbeit weitermachen</translation>
    </message>
    <message>
        <source>islebook digitize SHEET --recipe FILE</source>
        <translation>islebook digitize SHEET --recipe FILE</translation>
    </message>
    <message>
        <source>No unfinished work is offered.</source>
        <translation>Keine unfertige Arbeit wird angeboten.</translation>
    </message>
    <message>
        <source>Put the unfinished work away</source>
        <translation>Die unfertige Arbeit weglegen</translation>
    </message>
    <message>
        <source>its folder is moved to put_away</source>
        <translation>ihr Ordner wandert nach put_away</translation>
    </message>
    <message>
        <source>Recipes (*.recipe.json)</source>
        <translation>Rezepte (*.recipe.json)</translation>
    </message>
    <message>
        <source>There is only one page.</source>
        <translation>Es gibt nur eine Seite.</translation>
    </message>
    <message>
        <source>%1, anew</source>
        <translation>%1, neu</translation>
    </message>
    <message>
        <source>Traced.</source>
        <translation>Nachgezogen.</translation>
    </message>
</context>
<context>
    <name>islebook::MainWindow</name>
    <message>
        <source>Islebook</source>
        <translation>Islebook</translation>
    </message>
    <message>
        <source>US units</source>
        <translation>US-Einheiten</translation>
    </message>
    <message>
        <source>units = &quot;us&quot; in the case file</source>
        <translation>units = &quot;us&quot; in der Falldatei</translation>
    </message>
    <message>
        <source>Night</source>
        <translation>Nacht</translation>
    </message>
    <message>
        <source>islebook chart --night</source>
        <translation>islebook chart --night</translation>
    </message>
    <message>
        <source>Units and language</source>
        <translation>Einheiten und Sprache</translation>
    </message>
    <message>
        <source>units = &quot;si, flow lb/min&quot; in the case file</source>
        <translation>units = &quot;si, flow lb/min&quot; in der Falldatei</translation>
    </message>
    <message>
        <source>a room of the window</source>
        <translation>ein Raum des Fensters</translation>
    </message>
    <message>
        <source>%1 – Islebook</source>
        <translation>%1 – Islebook</translation>
    </message>
    <message>
        <source>%1 is neither a sheet (picture, PDF, SVG) nor a map document, a parcel or a case.</source>
        <translation>%1 ist weder ein Blatt (Bild, PDF, SVG) noch ein Kennfelddokument, ein Paket oder ein Fall.</translation>
    </message>
    <message>
        <source>%1 is not on this machine: save it first, then drop the file.</source>
        <translation>%1 liegt nicht auf diesem Rechner: erst sichern, dann die Datei fallen lassen.</translation>
    </message>
</context>
<context>
    <name>islebook::MapChart</name>
    <message>
        <source>Chart</source>
        <translation>Diagramm</translation>
    </message>
    <message>
        <source>The arrow keys move a cursor whose reading stands on the right</source>
        <translation>Die Pfeiltasten bewegen einen Zeiger, dessen Ablesung rechts steht</translation>
    </message>
    <message>
        <source>Chart of %1</source>
        <translation>Diagramm von %1</translation>
    </message>
</context>
<context>
    <name>islebook::MapFactsPanel</name>
    <message>
        <source>Maker</source>
        <translation>Hersteller</translation>
    </message>
    <message>
        <source>Model</source>
        <translation>Modell</translation>
    </message>
    <message>
        <source>Inducer, mm</source>
        <translation>Eintritt, mm</translation>
    </message>
    <message>
        <source>Exducer, mm</source>
        <translation>Austritt, mm</translation>
    </message>
    <message>
        <source>Trim</source>
        <translation>Trim</translation>
    </message>
    <message>
        <source>Turbine A/R</source>
        <translation>Turbine A/R</translation>
    </message>
    <message>
        <source>Speed limit, rpm</source>
        <translation>Drehzahlgrenze, rpm</translation>
    </message>
    <message>
        <source>Wheel</source>
        <translation>Laufrad</translation>
    </message>
    <message>
        <source>Tags; Delete takes the chosen one off</source>
        <translation>Schlagworte; Entf nimmt das gewählte weg</translation>
    </message>
    <message>
        <source>Take the tag off</source>
        <translation>Schlagwort wegnehmen</translation>
    </message>
    <message>
        <source>islebook shelf tag NAME --off TAG</source>
        <translation>islebook shelf tag NAME --off TAG</translation>
    </message>
    <message>
        <source>Tag to add</source>
        <translation>Neues Schlagwort</translation>
    </message>
    <message>
        <source>Add a tag, then Enter</source>
        <translation>Schlagwort, dann Eingabe</translation>
    </message>
    <message>
        <source>islebook shelf tag NAME TAG</source>
        <translation>islebook shelf tag NAME TAG</translation>
    </message>
    <message>
        <source>Tags</source>
        <translation>Schlagworte</translation>
    </message>
    <message>
        <source>Note to add</source>
        <translation>Neue Notiz</translation>
    </message>
    <message>
        <source>Add a note, then Enter</source>
        <translation>Notiz, dann Eingabe</translation>
    </message>
    <message>
        <source>Notes stay: they cannot be taken back.
islebook shelf note NAME TEXT</source>
        <translation>Notizen bleiben: Sie lassen sich nicht zurücknehmen.
islebook shelf note NAME TEXT</translation>
    </message>
    <message>
        <source>Notes</source>
        <translation>Notizen</translation>
    </message>
    <message>
        <source>%1 is a number, such as 52 or 70.5.</source>
        <translation>%1 ist eine Zahl, etwa 52 oder 70.5.</translation>
    </message>
</context>
<context>
    <name>islebook::MapView</name>
    <message>
        <source>Map of %1 with the operating points</source>
        <translation>Kennfeld von %1 mit den Betriebspunkten</translation>
    </message>
    <message>
        <source>Arrow keys move the place that is read, Escape ends it.</source>
        <translation>Die Pfeiltasten bewegen die abgelesene Stelle, Esc beendet.</translation>
    </message>
    <message>
        <source>No map yet</source>
        <translation>Noch kein Kennfeld</translation>
    </message>
</context>
<context>
    <name>islebook::MergePage</name>
    <message>
        <source>Merge</source>
        <translation>Zusammenführen</translation>
    </message>
    <message>
        <source>Main line</source>
        <translation>Hauptlinie</translation>
    </message>
    <message>
        <source>Branch</source>
        <translation>Zweig</translation>
    </message>
    <message>
        <source>Both sides of %1 changed the same %2. Choose for each; what only one side changed is kept.</source>
        <translation>Beide Seiten von %1 änderten dasselbe (%2). Je Stelle wählen; was nur eine Seite änderte, bleibt.</translation>
    </message>
    <message>
        <source>thing</source>
        <translation>Stelle</translation>
    </message>
    <message>
        <source>things</source>
        <translation>Stellen</translation>
    </message>
</context>
<context>
    <name>islebook::ParcelPage</name>
    <message>
        <source>A parcel, not yet unpacked</source>
        <translation>Ein Paket, noch nicht ausgepackt</translation>
    </message>
    <message>
        <source>Unpack onto the shelf</source>
        <translation>Ins Regal auspacken</translation>
    </message>
    <message>
        <source>Nothing that is on the shelf is changed.
islebook parcel unpack FILE</source>
        <translation>Nichts, was im Regal steht, wird geändert.
islebook parcel unpack FILE</translation>
    </message>
    <message>
        <source>Trust this key</source>
        <translation>Diesem Schlüssel vertrauen</translation>
    </message>
    <message>
        <source>First ask that shop for its key by another way, and compare.
islebook parcel trust KEY</source>
        <translation>Erst den Betrieb auf anderem Weg nach seinem Schlüssel fragen und vergleichen.
islebook parcel trust KEY</translation>
    </message>
    <message>
        <source>What the parcel holds</source>
        <translation>Was das Paket enthält</translation>
    </message>
</context>
<context>
    <name>islebook::SheetWork</name>
    <message>
        <source>kind of map</source>
        <translation>Art des Kennfelds</translation>
    </message>
</context>
<context>
    <name>islebook::ShelfList</name>
    <message>
        <source>Maps on the shelf</source>
        <translation>Kennfelder im Regal</translation>
    </message>
</context>
<context>
    <name>islebook::ShelfRoom</name>
    <message>
        <source>Correct</source>
        <translation>Korrigieren</translation>
    </message>
    <message>
        <source>islebook digitize SHEET --recipe FILE</source>
        <translation>islebook digitize SHEET --recipe FILE</translation>
    </message>
    <message>
        <source>To the bench</source>
        <translation>Auf den Prüfstand</translation>
    </message>
    <message>
        <source>islebook bench CASE.toml</source>
        <translation>islebook bench CASE.toml</translation>
    </message>
    <message>
        <source>Like this</source>
        <translation>Ähnliche</translation>
    </message>
    <message>
        <source>islebook shelf find --like NAME</source>
        <translation>islebook shelf find --like NAME</translation>
    </message>
    <message>
        <source>Write</source>
        <translation>Schreiben</translation>
    </message>
    <message>
        <source>islebook export NAME; islebook chart NAME</source>
        <translation>islebook export NAME; islebook chart NAME</translation>
    </message>
    <message>
        <source>Copy chart</source>
        <translation>Diagramm kopieren</translation>
    </message>
    <message>
        <source>islebook chart NAME --png FILE</source>
        <translation>islebook chart NAME --png FILE</translation>
    </message>
    <message>
        <source>Copy curves</source>
        <translation>Kurven kopieren</translation>
    </message>
    <message>
        <source>islebook export NAME --curves FILE</source>
        <translation>islebook export NAME --curves FILE</translation>
    </message>
    <message>
        <source>Pack</source>
        <translation>Packen</translation>
    </message>
    <message>
        <source>islebook parcel pack NAME...</source>
        <translation>islebook parcel pack NAME...</translation>
    </message>
    <message>
        <source>Open parcel</source>
        <translation>Paket öffnen</translation>
    </message>
    <message>
        <source>islebook parcel look FILE</source>
        <translation>islebook parcel look FILE</translation>
    </message>
    <message>
        <source>Remove</source>
        <translation>Entfernen</translation>
    </message>
    <message>
        <source>islebook shelf remove NAME</source>
        <translation>islebook shelf remove NAME</translation>
    </message>
    <message>
        <source>Restore</source>
        <translation>Zurückholen</translation>
    </message>
    <message>
        <source>islebook shelf restore NAME</source>
        <translation>islebook shelf restore NAME</translation>
    </message>
    <message>
        <source>Find by words</source>
        <translation>Nach Wörtern suchen</translation>
    </message>
    <message>
        <source>islebook shelf find WORDS</source>
        <translation>islebook shelf find WORDS</translation>
    </message>
    <message>
        <source>Close what is open above the chart, or show all maps</source>
        <translation>Schließen, was über dem Diagramm offen ist, oder alle Kennfelder zeigen</translation>
    </message>
    <message>
        <source>islebook shelf list</source>
        <translation>islebook shelf list</translation>
    </message>
    <message>
        <source>Undo</source>
        <translation>Rückgängig</translation>
    </message>
    <message>
        <source>the opposite command: shelf revert, restore, tag --off, wheel</source>
        <translation>der Gegenbefehl: shelf revert, restore, tag --off, wheel</translation>
    </message>
    <message>
        <source>Nothing to undo.</source>
        <translation>Nichts rückgängig zu machen.</translation>
    </message>
    <message>
        <source>Redo</source>
        <translation>Wiederholen</translation>
    </message>
    <message>
        <source>the command again</source>
        <translation>der Befehl noch einmal</translation>
    </message>
    <message>
        <source>Choose a map first.</source>
        <translation>Erst ein Kennfeld wählen.</translation>
    </message>
    <message>
        <source>Choose one map alone for this.</source>
        <translation>Dafür ein einzelnes Kennfeld wählen.</translation>
    </message>
    <message>
        <source>Undone: %1</source>
        <translation>Rückgängig: %1</translation>
    </message>
    <message>
        <source>The wheel of %1 is noted.</source>
        <translation>Das Laufrad von %1 ist vermerkt.</translation>
    </message>
    <message>
        <source>%1 is tagged “%2”.</source>
        <translation>%1 hat das Schlagwort „%2“.</translation>
    </message>
    <message>
        <source>“%2” is taken off %1.</source>
        <translation>„%2“ ist von %1 weggenommen.</translation>
    </message>
    <message>
        <source>Noted on %1. Notes stay.</source>
        <translation>Zu %1 notiert. Notizen bleiben.</translation>
    </message>
    <message>
        <source>%1 maps</source>
        <translation>%1 Kennfelder</translation>
    </message>
    <message>
        <source>%1: off the lists; the history stays.</source>
        <translation>%1: von den Listen genommen; der Verlauf bleibt.</translation>
    </message>
    <message>
        <source>%1: back on the lists.</source>
        <translation>%1: wieder auf den Listen.</translation>
    </message>
    <message>
        <source>%1 holds again what %2 held, as a new revision.</source>
        <translation>%1 enthält wieder, was %2 enthielt, als neue Fassung.</translation>
    </message>
    <message>
        <source>%1 held all of the branch already; the branch is closed.</source>
        <translation>%1 enthielt schon alles aus dem Zweig; der Zweig ist geschlossen.</translation>
    </message>
    <message>
        <source>%1: the branch “%2” is merged and closed.</source>
        <translation>%1: Der Zweig „%2“ ist zusammengeführt und geschlossen.</translation>
    </message>
    <message>
        <source>Wrote %1.</source>
        <translation>%1 ist geschrieben.</translation>
    </message>
    <message>
        <source>Choose the maps to pack first.</source>
        <translation>Erst die Kennfelder wählen, die gepackt werden sollen.</translation>
    </message>
    <message>
        <source>not signed: this shop has no key yet (islebook parcel key --name SHOP makes one).</source>
        <translation>nicht unterschrieben: Dieser Betrieb hat noch keinen Schlüssel (islebook parcel key --name SHOP legt einen an).</translation>
    </message>
    <message>
        <source>signed as %1.</source>
        <translation>unterschrieben als %1.</translation>
    </message>
    <message>
        <source>Packing ...</source>
        <translation>Wird gepackt ...</translation>
    </message>
    <message>
        <source>%1 is on the shelf.</source>
        <translation>%1 steht im Regal.</translation>
    </message>
    <message>
        <source>Looking into %1 ...</source>
        <translation>%1 wird angesehen ...</translation>
    </message>
    <message>
        <source>Nothing was taken over yet.</source>
        <translation>Noch ist nichts übernommen.</translation>
    </message>
    <message>
        <source>The signature does not hold. Do not use this parcel; ask for it again.</source>
        <translation>Die Unterschrift stimmt nicht. Dieses Paket nicht verwenden; neu anfordern.</translation>
    </message>
    <message>
        <source>The chart is on the clipboard as a picture.</source>
        <translation>Das Diagramm ist als Bild in der Zwischenablage.</translation>
    </message>
    <message>
        <source>Choose one map alone to copy its curves.</source>
        <translation>Zum Kopieren der Kurven ein einzelnes Kennfeld wählen.</translation>
    </message>
    <message>
        <source>The curves of %1 are on the clipboard as a table: paste them into a spreadsheet.</source>
        <translation>Die Kurven von %1 sind als Tabelle in der Zwischenablage: in eine Tabellenkalkulation einfügen.</translation>
    </message>
    <message>
        <source>The example maps are not installed with this program.</source>
        <translation>Die Beispielkennfelder sind mit diesem Programm nicht installiert.</translation>
    </message>
    <message>
        <source>Digitizing %1 (%2 of %3) ...</source>
        <translation>%1 wird digitalisiert (%2 von %3) ...</translation>
    </message>
    <message>
        <source>The example shelf is here: %1 maps.</source>
        <translation>Das Beispielregal ist da: %1 Kennfelder.</translation>
    </message>
    <message>
        <source>Point at the chart, or move a cursor over it with the arrow keys.</source>
        <translation>Auf das Diagramm zeigen oder mit den Pfeiltasten einen Zeiger darüber bewegen.</translation>
    </message>
    <message>
        <source>The shelf is empty. Drop a sheet (a picture or a PDF page of a map) or a parcel anywhere in the window, or begin with examples: eight invented wheels of Fellside Rotors. Do not build an engine on them.</source>
        <translation>Das Regal ist leer. Ein Blatt (ein Bild oder eine PDF-Seite eines Kennfelds) oder ein Paket irgendwo ins Fenster fallen lassen, oder mit Beispielen beginnen: acht erfundene Laufräder von Fellside Rotors. Keinen Motor danach bauen.</translation>
    </message>
    <message>
        <source>Put the example shelf here</source>
        <translation>Das Beispielregal aufstellen</translation>
    </message>
    <message>
        <source>Digitizes the eight sheets that come with the program
islebook shelf example</source>
        <translation>Digitalisiert die acht Blätter, die dem Programm beiliegen
islebook shelf example</translation>
    </message>
    <message>
        <source>Under the cursor</source>
        <translation>Unter dem Zeiger</translation>
    </message>
    <message>
        <source>About the chosen map</source>
        <translation>Über das gewählte Kennfeld</translation>
    </message>
    <message>
        <source>Write to a file</source>
        <translation>In eine Datei schreiben</translation>
    </message>
    <message>
        <source>Map document</source>
        <translation>Kennfelddokument</translation>
    </message>
    <message>
        <source>islebook export NAME --document FILE</source>
        <translation>islebook export NAME --document FILE</translation>
    </message>
    <message>
        <source>Curves, CSV</source>
        <translation>Kurven, CSV</translation>
    </message>
    <message>
        <source>Curves, spreadsheet</source>
        <translation>Kurven, Tabellenblatt</translation>
    </message>
    <message>
        <source>islebook export NAME --spreadsheet FILE</source>
        <translation>islebook export NAME --spreadsheet FILE</translation>
    </message>
    <message>
        <source>Chart, SVG</source>
        <translation>Diagramm, SVG</translation>
    </message>
    <message>
        <source>islebook chart NAME --svg FILE</source>
        <translation>islebook chart NAME --svg FILE</translation>
    </message>
    <message>
        <source>Chart, picture</source>
        <translation>Diagramm, Bild</translation>
    </message>
    <message>
        <source>Chart, PDF</source>
        <translation>Diagramm, PDF</translation>
    </message>
    <message>
        <source>islebook chart NAME --pdf FILE</source>
        <translation>islebook chart NAME --pdf FILE</translation>
    </message>
    <message>
        <source>Pack the chosen maps into a parcel</source>
        <translation>Die gewählten Kennfelder in ein Paket packen</translation>
    </message>
    <message>
        <source>Parcel</source>
        <translation>Paket</translation>
    </message>
    <message>
        <source>With their sheets (leave out where pictures may not be passed on)</source>
        <translation>Mit ihren Blättern (weglassen, wo Bilder nicht weitergegeben werden dürfen)</translation>
    </message>
    <message>
        <source>Asking the maps ...</source>
        <translation>Die Kennfelder werden befragt ...</translation>
    </message>
    <message>
        <source>Bringing the index up to date: %1 %</source>
        <translation>Das Verzeichnis wird erneuert: %1 %</translation>
    </message>
    <message>
        <source>Choose a map on the left.</source>
        <translation>Links ein Kennfeld wählen.</translation>
    </message>
    <message>
        <source>An earlier state: revision %1</source>
        <translation>Ein früherer Stand: Fassung %1</translation>
    </message>
    <message>
        <source>These maps cannot be laid over each other</source>
        <translation>Diese Kennfelder lassen sich nicht übereinanderlegen</translation>
    </message>
    <message>
        <source>This map cannot be shown</source>
        <translation>Dieses Kennfeld lässt sich nicht zeigen</translation>
    </message>
    <message>
        <source>The shelf is empty</source>
        <translation>Das Regal ist leer</translation>
    </message>
    <message>
        <source>%1 map on the shelf</source>
        <translation>%1 Kennfeld im Regal</translation>
    </message>
    <message>
        <source>%1 maps on the shelf</source>
        <translation>%1 Kennfelder im Regal</translation>
    </message>
    <message>
        <source>%1 maps on common axes</source>
        <translation>%1 Kennfelder auf gemeinsamen Achsen</translation>
    </message>
    <message>
        <source>%1: nothing changed</source>
        <translation>%1: nichts geändert</translation>
    </message>
    <message>
        <source>%2: %1 change</source>
        <translation>%2: %1 Änderung</translation>
    </message>
    <message>
        <source>%2: %1 changes</source>
        <translation>%2: %1 Änderungen</translation>
    </message>
    <message>
        <source>%1: no doubts left</source>
        <translation>%1: keine Zweifel mehr</translation>
    </message>
    <message>
        <source>%2: %1 doubt left</source>
        <translation>%2: noch %1 Zweifel</translation>
    </message>
    <message>
        <source>%2: %1 doubts left</source>
        <translation>%2: noch %1 Zweifel</translation>
    </message>
    <message>
        <source>Shelf</source>
        <translation>Regal</translation>
    </message>
    <message>
        <source>A parcel, a map document or a table of curves</source>
        <translation>Ein Paket, ein Kennfelddokument oder eine Kurventabelle</translation>
    </message>
    <message>
        <source>Parcels, map documents, tables (*.zip *.map.json *.csv *.xlsx)</source>
        <translation>Pakete, Kennfelddokumente, Tabellen (*.zip *.map.json *.csv *.xlsx)</translation>
    </message>
    <message>
        <source>Take over a table of curves</source>
        <translation>Eine Kurventabelle übernehmen</translation>
    </message>
    <message>
        <source>islebook import FILE</source>
        <translation>islebook import FILE</translation>
    </message>
    <message>
        <source>A table of curves</source>
        <translation>Eine Kurventabelle</translation>
    </message>
    <message>
        <source>Tables (*.csv *.xlsx)</source>
        <translation>Tabellen (*.csv *.xlsx)</translation>
    </message>
    <message>
        <source>Keys</source>
        <translation>Schlüssel</translation>
    </message>
    <message>
        <source>islebook parcel key; islebook parcel trust KEY</source>
        <translation>islebook parcel key; islebook parcel trust KEY</translation>
    </message>
    <message>
        <source>Parcels and tables are looked into one at a time; drop %1 again afterwards.</source>
        <translation>Pakete und Tabellen werden einzeln angesehen; %1 danach noch einmal fallen lassen.</translation>
    </message>
    <message>
        <source>The key is made. Keep a copy of shop.key where only you can read it.</source>
        <translation>Der Schlüssel ist angelegt. Eine Kopie von shop.key aufheben, wo nur man selbst sie lesen kann.</translation>
    </message>
    <message>
        <source>The key is no longer trusted. What was unpacked stays.</source>
        <translation>Dem Schlüssel wird nicht mehr vertraut. Was ausgepackt wurde, bleibt.</translation>
    </message>
    <message>
        <source>This shop&apos;s key for others</source>
        <translation>Der Schlüssel dieses Betriebs für andere</translation>
    </message>
    <message>
        <source>Keys (*.txt)</source>
        <translation>Schlüssel (*.txt)</translation>
    </message>
    <message>
        <source>Give %1 to those who are to trust this shop.</source>
        <translation>%1 denen geben, die diesem Betrieb vertrauen sollen.</translation>
    </message>
    <message>
        <source>The key that another shop sent</source>
        <translation>Der Schlüssel, den ein anderer Betrieb schickte</translation>
    </message>
    <message>
        <source>All files (*)</source>
        <translation>Alle Dateien (*)</translation>
    </message>
    <message>
        <source>Reading %1 ...</source>
        <translation>%1 wird gelesen ...</translation>
    </message>
    <message>
        <source>The shelf held it already, as %1.</source>
        <translation>Im Regal stand es schon, als %1.</translation>
    </message>
    <message>
        <source>%1 has changed since the table was written: the correction stands on the branch “%2”; compare and merge.</source>
        <translation>%1 hat sich geändert, seit die Tabelle geschrieben wurde: Die Korrektur steht auf dem Zweig „%2“; vergleichen und zusammenführen.</translation>
    </message>
    <message>
        <source>%1 is on the shelf with what the table says.</source>
        <translation>%1 steht im Regal mit dem, was die Tabelle sagt.</translation>
    </message>
</context>
<context>
    <name>islebook::ShelfRowPainter</name>
    <message>
        <source>%1 revisions</source>
        <translation>%1 Fassungen</translation>
    </message>
    <message>
        <source>%1 branch</source>
        <translation>%1 Zweig</translation>
    </message>
    <message>
        <source>%1 branches</source>
        <translation>%1 Zweige</translation>
    </message>
</context>
<context>
    <name>islebook::ShelfRows</name>
    <message>
        <source>%1 / %2 mm</source>
        <translation>%1 / %2 mm</translation>
    </message>
    <message>
        <source>inducer %1 mm</source>
        <translation>Eintritt %1 mm</translation>
    </message>
    <message>
        <source>exducer %1 mm</source>
        <translation>Austritt %1 mm</translation>
    </message>
    <message>
        <source>A/R %1</source>
        <translation>A/R %1</translation>
    </message>
</context>
<context>
    <name>islebook::ShelfSearch</name>
    <message>
        <source>Words to look for</source>
        <translation>Gesuchte Wörter</translation>
    </message>
    <message>
        <source>Find words in names, titles, tags, notes</source>
        <translation>Wörter in Namen, Titeln, Notizen suchen</translation>
    </message>
    <message>
        <source>Kind of map</source>
        <translation>Art des Kennfelds</translation>
    </message>
    <message>
        <source>both kinds</source>
        <translation>beide Arten</translation>
    </message>
    <message>
        <source>compressors</source>
        <translation>Verdichter</translation>
    </message>
    <message>
        <source>turbines</source>
        <translation>Turbinen</translation>
    </message>
    <message>
        <source>Tag</source>
        <translation>Schlagwort</translation>
    </message>
    <message>
        <source>any tag</source>
        <translation>jedes Schlagwort</translation>
    </message>
    <message>
        <source>Inducer in mm</source>
        <translation>Eintrittsdurchmesser in mm</translation>
    </message>
    <message>
        <source>inducer 50..60</source>
        <translation>Eintritt 50..60</translation>
    </message>
    <message>
        <source>Inducer in mm: a size, or a span such as 50..60
islebook shelf find --inducer 50..60</source>
        <translation>Eintrittsdurchmesser in mm: ein Maß oder eine Spanne wie 50..60
islebook shelf find --inducer 50..60</translation>
    </message>
    <message>
        <source>Exducer in mm</source>
        <translation>Austrittsdurchmesser in mm</translation>
    </message>
    <message>
        <source>exducer, mm</source>
        <translation>Austritt, mm</translation>
    </message>
    <message>
        <source>Exducer in mm: a size, or a span such as 50..60
islebook shelf find --exducer 50..60</source>
        <translation>Austrittsdurchmesser in mm: ein Maß oder eine Spanne wie 50..60
islebook shelf find --exducer 50..60</translation>
    </message>
    <message>
        <source>Covers a point</source>
        <translation>Deckt Punkt ab</translation>
    </message>
    <message>
        <source>islebook shelf find --flow F --pressure-ratio P</source>
        <translation>islebook shelf find --flow F --pressure-ratio P</translation>
    </message>
    <message>
        <source>Removed</source>
        <translation>Entfernte</translation>
    </message>
    <message>
        <source>islebook shelf find --removed</source>
        <translation>islebook shelf find --removed</translation>
    </message>
    <message>
        <source>Newest first</source>
        <translation>Neueste zuerst</translation>
    </message>
    <message>
        <source>islebook shelf list --json (time)</source>
        <translation>islebook shelf list --json (time)</translation>
    </message>
    <message>
        <source>Corrected mass flow</source>
        <translation>Reduzierter Massenstrom</translation>
    </message>
    <message>
        <source>Pressure ratio</source>
        <translation>Druckverhältnis</translation>
    </message>
    <message>
        <source>2.4</source>
        <translation>2.4</translation>
    </message>
    <message>
        <source>Surge margin at least</source>
        <translation>Pumpgrenzabstand mindestens</translation>
    </message>
    <message>
        <source>10 %</source>
        <translation>10 %</translation>
    </message>
    <message>
        <source>Efficiency at least</source>
        <translation>Wirkungsgrad mindestens</translation>
    </message>
    <message>
        <source>72 %</source>
        <translation>72 %</translation>
    </message>
    <message>
        <source>Flow</source>
        <translation>Strom</translation>
    </message>
    <message>
        <source>PR</source>
        <translation>Π</translation>
    </message>
    <message>
        <source>Margin ≥</source>
        <translation>Abstand ≥</translation>
    </message>
    <message>
        <source>Eff. ≥</source>
        <translation>η ≥</translation>
    </message>
    <message>
        <source>Like %1, the likest first. Escape shows all again.</source>
        <translation>Ähnlich %1, das Ähnlichste zuerst. Esc zeigt wieder alle.</translation>
    </message>
    <message>
        <source>Flow corrected to 15 °C (288.15 K) and 101.325 kPa.</source>
        <translation>Massenstrom reduziert auf 15 °C (288.15 K) und 101.325 kPa.</translation>
    </message>
</context>
<context>
    <name>islebook::VerdictTable</name>
    <message>
        <source>Verdicts</source>
        <translation>Befunde</translation>
    </message>
    <message>
        <source>No.</source>
        <translation>Nr.</translation>
    </message>
    <message>
        <source>Point</source>
        <translation>Punkt</translation>
    </message>
    <message>
        <source>Stage</source>
        <translation>Stufe</translation>
    </message>
    <message>
        <source>Grade</source>
        <translation>Note</translation>
    </message>
    <message>
        <source>What limits it</source>
        <translation>Was begrenzt</translation>
    </message>
    <message>
        <source>Surge margin</source>
        <translation>Pumpgrenzabstand</translation>
    </message>
    <message>
        <source>Choke margin</source>
        <translation>Stopfgrenzabstand</translation>
    </message>
    <message>
        <source>Speed, of limit</source>
        <translation>Drehzahl, von Grenze</translation>
    </message>
    <message>
        <source>Efficiency</source>
        <translation>Wirkungsgrad</translation>
    </message>
    <message>
        <source>Outlet</source>
        <translation>Austritt</translation>
    </message>
    <message>
        <source>Drive / boost</source>
        <translation>Vor Turb. / Ladedruck</translation>
    </message>
    <message>
        <source>Boost</source>
        <translation>Ladedruck</translation>
    </message>
    <message>
        <source>Air</source>
        <translation>Luft</translation>
    </message>
    <message>
        <source>not worked out</source>
        <translation>nicht gerechnet</translation>
    </message>
    <message>
        <source>nothing</source>
        <translation>nichts</translation>
    </message>
</context>
<context>
    <name>islebook::WhatFirstPanel</name>
    <message>
        <source>Find</source>
        <translation>Suchen</translation>
    </message>
    <message>
        <source>Stop</source>
        <translation>Halt</translation>
    </message>
    <message>
        <source>Take into the case</source>
        <translation>In den Fall übernehmen</translation>
    </message>
    <message>
        <source>Goal</source>
        <translation>Ziel</translation>
    </message>
    <message>
        <source>At the point</source>
        <translation>Am Punkt</translation>
    </message>
    <message>
        <source>Changes worked out</source>
        <translation>Gerechnete Änderungen</translation>
    </message>
    <message>
        <source>Changes, best first</source>
        <translation>Änderungen, beste zuerst</translation>
    </message>
    <message>
        <source>What each change brings, as bars</source>
        <translation>Was jede Änderung bringt, als Balken</translation>
    </message>
    <message>
        <source>at</source>
        <translation>bei</translation>
    </message>
    <message>
        <source>No map describes this wheel: digitize one of that size and it can be chosen.</source>
        <translation>Kein Kennfeld beschreibt dieses Laufrad: eines dieser Größe digitalisieren, dann ist es wählbar.</translation>
    </message>
    <message>
        <source>Stopped.</source>
        <translation>Angehalten.</translation>
    </message>
    <message>
        <source>Found for the case as it was before; find again for the case as it is.</source>
        <translation>Gefunden für den Fall, wie er vorher war; für den jetzigen neu suchen.</translation>
    </message>
    <message>
        <source>Trying the maps on the shelf and other sizes, one change at a time.</source>
        <translation>Die Kennfelder im Regal und andere Größen werden versucht, eine Änderung nach der anderen.</translation>
    </message>
    <message>
        <source>Change</source>
        <translation>Änderung</translation>
    </message>
    <message>
        <source>Then</source>
        <translation>Dann</translation>
    </message>
    <message>
        <source>Gain</source>
        <translation>Gewinn</translation>
    </message>
    <message>
        <source>Ends where</source>
        <translation>Endet wo</translation>
    </message>
    <message>
        <source>One thing at a time is changed: wheels on the shelf, their size, wastegate, vanes, cooler, split. Best first; of equal gain the cheaper.</source>
        <translation>Immer nur eines wird geändert: Laufräder im Regal, ihre Größe, Wastegate, Leitschaufeln, Kühler, Aufteilung. Das Beste zuerst; bei gleichem Gewinn das Günstigere.</translation>
    </message>
    <message>
        <source> (estimated)</source>
        <translation> (geschätzt)</translation>
    </message>
    <message>
        <source>holds nowhere</source>
        <translation>hält nirgends</translation>
    </message>
    <message>
        <source>%1: %2 now, ended by: %3.</source>
        <translation>%1: jetzt %2, begrenzt durch: %3.</translation>
    </message>
    <message>
        <source> Left out: %1</source>
        <translation> Ausgelassen: %1</translation>
    </message>
</context>
<context>
    <name>islebook::WritePage</name>
    <message>
        <source>What to write</source>
        <translation>Was geschrieben wird</translation>
    </message>
    <message>
        <source>File to write</source>
        <translation>Zieldatei</translation>
    </message>
    <message>
        <source>Browse</source>
        <translation>Durchsuchen</translation>
    </message>
    <message>
        <source>Choose the folder and the name by eye</source>
        <translation>Ordner und Namen nach Augenmaß wählen</translation>
    </message>
    <message>
        <source>Say where to: a folder and a name.</source>
        <translation>Ziel angeben: einen Ordner und einen Namen.</translation>
    </message>
    <message>
        <source>%1 is there already. The same again replaces it.</source>
        <translation>%1 gibt es schon. Noch einmal dasselbe ersetzt es.</translation>
    </message>
</context>
</TS>
