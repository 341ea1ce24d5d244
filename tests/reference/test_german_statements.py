"""The German of hazard and precautionary statements against their published wording, letter by letter.

The wording is that of the German edition of Regulation (EC) No 1272/2008, Annexes II, III and IV, as two independent
lists and quotations of the law give it [CLP_DE], [CLP_DE_2023], and as GESTIS gives it [GESTIS_DE]; typed off them,
not off this program. Where the law leaves a gap ("…") or brackets, what stands for it here is said beside it.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator

import pytest

from patina.datafile import data_path
from patina.language import read_as, shown
from patina.safety.label import statement

ANNEX_III = {
    "H225": "Flüssigkeit und Dampf leicht entzündbar.",
    "H226": "Flüssigkeit und Dampf entzündbar.",
    "H228": "Entzündbarer Feststoff.",
    "H251": "Selbsterhitzungsfähig; kann in Brand geraten.",
    "H260": "In Berührung mit Wasser entstehen entzündbare Gase, die sich spontan entzünden können.",
    "H271": "Kann Brand oder Explosion verursachen; starkes Oxidationsmittel.",
    "H272": "Kann Brand verstärken; Oxidationsmittel.",
    "H280": "Enthält Gas unter Druck; kann bei Erwärmung explodieren.",
    "H290": "Kann gegenüber Metallen korrosiv sein.",
    "H300": "Lebensgefahr bei Verschlucken.",
    "H301": "Giftig bei Verschlucken.",
    "H302": "Gesundheitsschädlich bei Verschlucken.",
    "H304": "Kann bei Verschlucken und Eindringen in die Atemwege tödlich sein.",
    "H310": "Lebensgefahr bei Hautkontakt.",
    "H314": "Verursacht schwere Verätzungen der Haut und schwere Augenschäden.",
    "H315": "Verursacht Hautreizungen.",
    "H317": "Kann allergische Hautreaktionen verursachen.",
    "H318": "Verursacht schwere Augenschäden.",
    "H319": "Verursacht schwere Augenreizung.",
    "H330": "Lebensgefahr bei Einatmen.",
    "H334": "Kann bei Einatmen Allergie, asthmaartige Symptome oder Atembeschwerden verursachen.",
    "H335": "Kann die Atemwege reizen.",
    "H336": "Kann Schläfrigkeit und Benommenheit verursachen.",
    "H350i": "Kann bei Einatmen Krebs erzeugen.",
    "H360F": "Kann die Fruchtbarkeit beeinträchtigen.",
    "H360FD": "Kann die Fruchtbarkeit beeinträchtigen. Kann das Kind im Mutterleib schädigen.",
    "H360Df": "Kann das Kind im Mutterleib schädigen. Kann vermutlich die Fruchtbarkeit beeinträchtigen.",
    "H361fd": "Kann vermutlich die Fruchtbarkeit beeinträchtigen. Kann vermutlich das Kind im Mutterleib schädigen.",
    "H362": "Kann Säuglinge über die Muttermilch schädigen.",
    "H400": "Sehr giftig für Wasserorganismen.",
    "H410": "Sehr giftig für Wasserorganismen mit langfristiger Wirkung.",
    "H411": "Giftig für Wasserorganismen, mit langfristiger Wirkung.",
    "H412": "Schädlich für Wasserorganismen, mit langfristiger Wirkung.",
    "H413": "Kann für Wasserorganismen schädlich sein, mit langfristiger Wirkung.",
    # the route or the organ in the law's pointed brackets is left out, as nothing is known of it here
    "H341": "Kann vermutlich genetische Defekte verursachen.",
    "H350": "Kann Krebs erzeugen.",
    "H372": "Schädigt die Organe bei längerer oder wiederholter Exposition.",
    "H373": "Kann die Organe schädigen bei längerer oder wiederholter Exposition.",
}
SUPPLEMENTAL = {
    "EUH014": "Reagiert heftig mit Wasser.",
    "EUH018": "Kann bei Verwendung explosionsfähige/entzündbare Dampf/Luft-Gemische bilden.",
    "EUH029": "Entwickelt bei Berührung mit Wasser giftige Gase.",
    "EUH031": "Entwickelt bei Berührung mit Säure giftige Gase.",
    "EUH032": "Entwickelt bei Berührung mit Säure sehr giftige Gase.",
    "EUH044": "Explosionsgefahr bei Erhitzen unter Einschluss.",
    "EUH066": "Wiederholter Kontakt kann zu spröder oder rissiger Haut führen.",
    "EUH071": "Wirkt ätzend auf die Atemwege.",
    "EUH203": "Enthält Chrom (VI). Kann allergische Reaktionen hervorrufen.",
    "EUH206": "Achtung! Nicht zusammen mit anderen Produkten verwenden, da gefährliche Gase (Chlor) freigesetzt werden"
    " können.",
    "EUH210": "Sicherheitsdatenblatt auf Anfrage erhältlich.",
    "EUH380": "Kann beim Menschen endokrine Störungen verursachen.",
    "EUH381": "Steht in dem Verdacht, beim Menschen endokrine Störungen zu verursachen.",
    "EUH430": "Kann endokrine Störungen in der Umwelt verursachen.",
    "EUH431": "Steht in dem Verdacht, endokrine Störungen in der Umwelt zu verursachen.",
    "EUH440": "Anreicherung in der Umwelt und in lebenden Organismen einschließlich Menschen.",
    "EUH451": "Kann sehr lang anhaltende und diffuse Verschmutzung von Wasserressourcen verursachen.",
}
ANNEX_IV = {
    "P201": "Vor Gebrauch besondere Anweisungen einholen.",
    "P210": "Von Hitze, heißen Oberflächen, Funken, offenen Flammen sowie anderen Zündquellen fernhalten."
    " Nicht rauchen.",
    "P220": "Von Kleidung und anderen brennbaren Materialien fernhalten.",
    "P234": "Nur in Originalverpackung aufbewahren.",
    "P260": "Staub/Rauch/Gas/Nebel/Dampf/Aerosol nicht einatmen.",
    "P261": "Einatmen von Staub/Rauch/Gas/Nebel/Dampf/Aerosol vermeiden.",
    "P264": "Nach Gebrauch Hände gründlich waschen.",  # in the law "… gründlich waschen"
    "P270": "Bei Gebrauch nicht essen, trinken oder rauchen.",
    "P272": "Kontaminierte Arbeitskleidung nicht außerhalb des Arbeitsplatzes tragen.",
    "P273": "Freisetzung in die Umwelt vermeiden.",
    "P280": "Schutzhandschuhe/Schutzkleidung/Augenschutz/Gesichtsschutz tragen.",
    "P284": "Bei unzureichender Belüftung Atemschutz tragen.",  # its first words in square brackets
    "P301+P310": "BEI VERSCHLUCKEN: Sofort GIFTINFORMATIONSZENTRUM/Arzt anrufen.",  # "/Arzt/…/anrufen"
    "P301+P312": "BEI VERSCHLUCKEN: Bei Unwohlsein GIFTINFORMATIONSZENTRUM/Arzt anrufen.",  # "/Arzt/… anrufen"
    "P301+P330+P331": "BEI VERSCHLUCKEN: Mund ausspülen. KEIN Erbrechen herbeiführen.",
    "P303+P361+P353": "BEI BERÜHRUNG MIT DER HAUT (oder dem Haar): Alle kontaminierten Kleidungsstücke sofort"
    " ausziehen. Haut mit Wasser abwaschen oder duschen.",  # "[oder duschen]"
    "P304+P340": "BEI EINATMEN: Die Person an die frische Luft bringen und für ungehinderte Atmung sorgen.",
    "P305+P351+P338": "BEI KONTAKT MIT DEN AUGEN: Einige Minuten lang behutsam mit Wasser spülen. Eventuell vorhandene"
    " Kontaktlinsen nach Möglichkeit entfernen. Weiter spülen.",
    "P306+P360": "BEI KONTAKT MIT DER KLEIDUNG: Kontaminierte Kleidung und Haut sofort mit viel Wasser abwaschen und"
    " danach Kleidung ausziehen.",
    "P308+P313": "BEI Exposition oder falls betroffen: Ärztlichen Rat einholen/ärztliche Hilfe hinzuziehen.",
    "P314": "Bei Unwohlsein ärztlichen Rat einholen/ärztliche Hilfe hinzuziehen.",
    "P333+P313": "Bei Hautreizung oder -ausschlag: Ärztlichen Rat einholen/ärztliche Hilfe hinzuziehen.",
    "P337+P313": "Bei anhaltender Augenreizung: Ärztlichen Rat einholen/ärztliche Hilfe hinzuziehen.",
    "P363": "Kontaminierte Kleidung vor erneutem Tragen waschen.",
    "P390": "Verschüttete Mengen aufnehmen, um Materialschäden zu vermeiden.",
    "P403+P233": "An einem gut belüfteten Ort aufbewahren. Behälter dicht verschlossen halten.",
    "P405": "Unter Verschluss aufbewahren.",
}
# what the law leaves open and this program filled
FILLED = {"EUH208", "P264", "P501"}


@pytest.fixture(autouse=True)
def in_german() -> Iterator[None]:
    """Texts are shown in German; English again afterwards."""
    read_as("de")
    yield
    read_as()


def _rows(name: str) -> list[dict[str, str]]:
    lines = [line for line in data_path(name).read_text("utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


@pytest.mark.parametrize(("code", "published"), [*ANNEX_III.items(), *SUPPLEMENTAL.items(), *ANNEX_IV.items()])
def test_a_statement_is_worded_as_the_law_words_it(code: str, published: str) -> None:
    """What a German reader sees under a code is what the German edition says under it."""
    assert shown(statement(code)) == published


@pytest.mark.parametrize(("word", "german"), [("Danger", "Gefahr"), ("Warning", "Achtung")])
def test_signal_words_are_those_of_the_law(word: str, german: str) -> None:
    """Annex I of the German edition: Gefahr and Achtung."""
    assert shown(word) == german


def test_every_statement_says_where_its_german_was_seen() -> None:
    """Each row names the source of its German; own words stand in the gaps of the law alone."""
    rows = [row for name in ("hazard_statements.csv", "precautionary_statements.csv") for row in _rows(name)]
    rows += [{**row, "code": row["h"]} for row in _rows("label_elements_new_classes.csv")]
    assert all(row["german_source"].startswith(("CLP_DE", "GESTIS_DE")) for row in rows)
    assert {row["code"] for row in rows if "PRACTICE" in row["german_source"]} == FILLED
    assert not [row["code"] for row in rows if shown(row["text"]) == row["text"]]
