"""What the words of column headers mean: plain data, no logic.

Words are written without accents and in lower case, as `ridelog.vocabulary.headers` compares them.
"""

from collections.abc import Mapping

from ridelog.lazy import dataclass
from ridelog.tell.reasons import headers as reasons

PHRASES: Mapping[str, str] = {
    "state of charge": "soc",
    "charge level": "soc",
    "charge state": "soc",
    "battery level": "soc",
    "battery charge level": "soc",
    "etat de charge": "soc",
    "estado de carga": "soc",
    "stato di carica": "soc",
    "battery percentage": "soc",
    "battery percent": "soc",
    "into battery": "charging",
    "into the battery": "charging",
    "to battery": "charging",
    "to the battery": "charging",
    "naar accu": "charging",
    "naar de accu": "charging",
    "vers la batterie": "charging",
    "hacia la bateria": "charging",
    "verso la batteria": "charging",
    "in die batterie": "charging",
    "in den akku": "charging",
    "out of battery": "discharging",
    "out of the battery": "discharging",
    "from battery": "discharging",
    "from the battery": "discharging",
    "motor controller": "controller",
    "time stamp": "timestamp",
    "time of day": "timestamp",
    "time zone": "zone",
    "motor driver": "controller",
    "q axis": "motor",
    "d axis": "motor",
    "charge counter": "ladung",
    "en circulation": "net",
}

# concept: the words that state it (English, German, French, Dutch, Spanish, Italian)
_CONCEPT_ROWS: tuple[tuple[str, str], ...] = (
    # nouns: what was measured
    ("current", "current currents strom courant intensite stroom corriente corrente intensidad amperage i"),
    ("current", "curr cur amp"),
    ("current battery", "ibat ibatt ibattery idc ibus ipack"),
    ("current motor", "imot imotor iphase iq iqs"),
    ("voltage", "voltage voltages spannung tension tensione spanning voltaje voltaggio u volt volts"),
    ("voltage", "volt voltaje spanning"),
    ("voltage battery", "vbat vbatt ubat ubatt vbattery ubattery vpack udc vdc ubus vbus"),
    ("voltage cell", "vcell ucell"),
    ("power", "power leistung puissance vermogen potencia potenza p watts"),
    ("power battery", "pbat pbatt pdc"),
    ("speed", "speed velocity velocities geschwindigkeit vitesse snelheid velocidad velocita tacho"),
    ("speed time", "tempo"),
    ("speed", "spd vel"),
    ("power", "pwr wattage"),
    ("distance", "dist"),
    ("throttle", "thr"),
    ("cadence", "cad"),
    ("rpm", "rpm drehzahl toerental regime"),
    ("revolutions", "revolutions revolution revs turns umdrehungen umdrehung omwentelingen vueltas giri"),
    ("distance", "distance strecke distanz entfernung wegstrecke odometer odo trip afstand distancia"),
    ("distance", "distanza recorrido kilometerstand mileage"),
    ("temperature", "temperature temperatures temp temps temperatur temperatura temperatuur"),
    ("temperature battery", "tbat tbatt"),
    ("temperature motor", "tmot tmotor"),
    ("temperature air", "atemp"),
    ("temperature time", "t"),
    ("brake", "brake braking bremse bremsen frein rem freno ebrake bremshebel"),
    ("throttle", "throttle gas gasgriff accelerator accelerateur gashendel acelerador acceleratore"),
    ("cadence", "cadence trittfrequenz kadenz trapfrequentie cadencia cadenza"),
    ("soc", "soc ladezustand ladestand akkustand batteriestand laadtoestand"),
    ("charge_noun", "ladung lading coulombs"),
    ("energy", "energy energie energia"),
    ("capacity", "capacity kapazitat kapazitaet capacite capaciteit capacidad capacita"),
    ("latitude", "latitude lat breite breitengrad breedtegraad latitud latitudine"),
    ("longitude", "longitude lon lng long lange laenge langengrad laengengrad lengtegraad longitud longitudine"),
    ("altitude", "altitude alt elevation ele height hohe hoehe hoogte altitud altura quota"),
    ("altitude", "altezza"),
    ("time", "time times zeit temps tijd tiempo elapsed timer uptime runtime zeitpunkt laufzeit"),
    ("timestamp", "timestamp datetime zeitstempel uhrzeit heure hora ora stamp tijdstip clock horodatage utc"),
    ("timestamp", "ts"),
    ("timestamp epoch", "epoch unix unixtime"),
    ("date", "date datum fecha jour"),
    # qualifiers: of what, which way
    ("battery", "battery batt bat batterie batteries batterij accu akku bateria batteria pack bms dc bus"),
    ("battery", "input supply"),
    ("electric", "electric electrical elektrisch electrique elektrische elettrica electrica"),
    ("motor", "motor moteur motore engine phase phases winding hub"),
    ("controller", "controller esc mosfet fet inverter regler steuergerat controleur regelaar controlador driver"),
    ("rider", "rider human fahrer cycliste ciclista fietser pedal pedals pedale crank leg tret berijder"),
    ("wheel", "wheel rad laufrad roue wiel rueda ruota"),
    ("cell", "cell cells zelle zell zellen cellule cel celda cella"),
    ("air", "air ambient luft umgebung ambiante outside aussen lucht ambiente aire aria exterieure"),
    ("charge", "charge charging lade laad laden ladung chargers charger carga carica recharge"),
    ("charging", "charging into regen regenerated regenerative rekuperation rekuperiert recuperated"),
    ("charging", "returned recovered recuperation recup geladen eingespeist teruggewonnen"),
    ("charging", "recuperada recuperata"),
    ("discharging", "discharge discharging discharged entlade entladen entladung ontlaad ontladen decharge"),
    ("discharging", "descarga scarica drawn used consumed consumption verbrauch verbraucht entnommen"),
    ("discharging", "consomme consommee verbruik verbruikt consumida consumata consumo"),
    ("inward", "in"),
    ("outward", "out"),
    ("net", "net netto saldo balance"),
    ("unsigned", "abs absolute magnitude unsigned betrag absolut"),
    ("signed", "signed"),
    ("satellite", "gps gnss satellite"),
    ("average", "avg average averaged mean durchschnitt mittel mittelwert moyenne moyen gemiddeld promedio"),
    ("part", "step lap segment moving split interval loop cycle"),
    # words that make a column something other than a sample of the quantity
    ("void", "max maximum min minimum limit limits target setpoint set nominal rated peak spitze soll"),
    ("void", "remaining rest restante range reichweite resistance widerstand pressure druck wind zone"),
    ("void", "delta diff difference error fault offset gear mode stufe gang assist"),
    ("indicator", "status state flag level signal"),
    ("place", "position pos posicion posizione positie standort"),
    ("void", "raw adc count counts erpm acceleration beschleunigung torque drehmoment slope grade steigung"),
    ("void", "heart vertical climb ascent descent accuracy hdop latency duty modulation"),
    ("void", "bec usb aux light licht lamp alternator service fuel coolant"),
)


def _concepts() -> dict[str, frozenset[str]]:
    result: dict[str, frozenset[str]] = {}
    for concepts, words in _CONCEPT_ROWS:
        for word in words.split():
            result[word] = result.get(word, frozenset()) | frozenset(concepts.split())
    return result


CONCEPTS: Mapping[str, frozenset[str]] = _concepts()

# Words that change nothing of what the others say.
_HARMLESS = (
    "a an the of and value values reading sensor in ground vehicle bike ebike own wert der die das dem den des im "
    "am vom von du de des la le les el los las il lo gli dei della del valeur valore valor het een van waarde "
)
HARMLESS = frozenset(_HARMLESS.split())

# Words that stand in a signal's cells for a number.
SWITCH_WORDS: Mapping[str, str] = {
    **dict.fromkeys(("on", "true", "yes", "applied", "pressed", "active", "an", "ja", "oui", "si"), "1"),
    **dict.fromkeys(("off", "false", "no", "released", "inactive", "aus", "nein", "non", "nee"), "0"),
}

_NOUNS = (
    "current voltage power speed rpm revolutions distance temperature brake throttle cadence soc "
    "charge_noun energy capacity latitude longitude altitude time timestamp date "
)
NOUNS = frozenset(_NOUNS.split())
# What a unit says where no noun does.
NOUN_OF_DIMENSION: Mapping[str, str] = {
    "current": "current",
    "voltage": "voltage",
    "power": "power",
    "speed": "speed",
    "temperature": "temperature",
    "charge": "charge_noun",
    "energy": "energy",
    "rpm": "rpm",
    "time": "time",
    "clock": "time",
}


@dataclass(frozen=True)
class Quantity:
    """Something that a column can hold: its name for people and maps, its channel, its dimensions."""

    name: str
    channel: str | None
    dimensions: tuple[str, ...]
    implied_unit: str | None = None  # where the quantity leaves no choice of unit


_QUANTITY_ROWS: tuple[Quantity, ...] = (
    Quantity("time", None, ("time", "clock")),
    Quantity("date", None, ()),
    Quantity("battery current", "current_a", ("current",)),
    Quantity("battery voltage", "voltage_v", ("voltage",)),
    Quantity("battery power", "power_w", ("power",)),
    Quantity("motor current", "motor_current_a", ("current",)),
    Quantity("speed", "speed_mps", ("speed",)),
    Quantity("wheel rpm", "wheel_speed_rpm", ("rpm",), "rpm"),
    Quantity("wheel revolutions", "wheel_revolutions", ("one",), "ratio"),
    Quantity("distance", "distance_m", ("length",)),
    Quantity("latitude", "latitude_deg", ("angle",), "°"),
    Quantity("longitude", "longitude_deg", ("angle",), "°"),
    Quantity("altitude", "altitude_m", ("length",)),
    Quantity("battery temperature", "battery_temperature_c", ("temperature",)),
    Quantity("motor temperature", "motor_temperature_c", ("temperature",)),
    Quantity("controller temperature", "controller_temperature_c", ("temperature",)),
    Quantity("air temperature", "air_temperature_c", ("temperature",)),
    Quantity("brake", "brake_ratio", ("share", "one")),
    Quantity("throttle", "throttle_ratio", ("share", "one")),
    Quantity("cadence", "cadence_rpm", ("rpm",), "rpm"),
    Quantity("rider power", "rider_power_w", ("power",), "W"),
    Quantity("state of charge", "state_of_charge_pct", ("share", "one")),
    Quantity("charge drawn", "drawn_counter_ah", ("charge",)),
    Quantity("charge returned", "returned_counter_ah", ("charge",)),
    Quantity("net charge", "net_counter_ah", ("charge",)),
    Quantity("energy drawn", "drawn_counter_wh", ("energy",)),
    Quantity("energy returned", "returned_counter_wh", ("energy",)),
    Quantity("net energy", "net_counter_wh", ("energy",)),
)

QUANTITIES: Mapping[str, Quantity] = {row.name: row for row in _QUANTITY_ROWS}


@dataclass(frozen=True)
class Rule:
    """A header with all concepts of ``needs`` and none of ``without`` names ``quantity``.

    Where ``quantity`` is ``None``, such a column is left out, and ``why_not`` is the phrase for that.
    """

    quantity: str | None
    needs: frozenset[str]
    without: frozenset[str] = frozenset()
    why_not: str = ""


def _rule(quantity: str | None, needs: str, without: str = "", why_not: str = "") -> Rule:
    return Rule(quantity, frozenset(needs.split()), frozenset(without.split()), why_not)


# The first rule that fits decides. A rule without a quantity says why such a column is left out.
RULES: tuple[Rule, ...] = (
    _rule("state of charge", "soc"),
    _rule("latitude", "latitude"),
    _rule("longitude", "longitude"),
    _rule("altitude", "altitude"),
    _rule("throttle", "throttle", "current voltage power"),
    _rule("brake", "brake", "current voltage power charge_noun energy charging"),
    _rule(None, "throttle", "", reasons.THROTTLE_NO_SHARE),
    _rule("cadence", "cadence"),
    _rule("cadence", "rider rpm"),
    _rule("rider power", "power rider"),
    _rule(None, "power motor", "battery", reasons.POWER_OF_MOTOR),
    _rule(None, "power air", "battery", reasons.POWER_OF_AIR),
    _rule("battery power", "power"),
    _rule("motor current", "current motor", "battery"),
    _rule("battery current", "current", "rider cell"),
    _rule("cell voltage", "voltage cell"),
    _rule(None, "voltage motor", "battery", reasons.VOLTAGE_OF_MOTOR),
    _rule("battery voltage", "voltage", "rider brake controller"),
    _rule("wheel rpm", "wheel rpm", "motor"),
    _rule("wheel revolutions", "wheel revolutions"),
    _rule(None, "rpm", "", reasons.RPM_OF_WHAT),
    _rule(None, "revolutions", "", reasons.REVOLUTIONS_OF_WHAT),
    _rule("battery temperature", "temperature battery"),
    _rule("battery temperature", "temperature cell"),
    _rule("motor temperature", "temperature motor"),
    _rule("controller temperature", "temperature controller"),
    _rule("air temperature", "temperature air"),
    _rule("charge returned", "charge_noun charging", "discharging"),
    _rule("charge drawn", "charge_noun discharging"),
    _rule("net charge", "charge_noun net"),
    _rule("energy returned", "energy charging", "discharging"),
    _rule("energy drawn", "energy discharging"),
    _rule("net energy", "energy net"),
    _rule("charge counter", "charge_noun"),
    _rule("energy counter", "energy"),
    _rule(None, "capacity", "", reasons.CAPACITY),
    _rule("distance", "distance"),
    _rule(None, "speed motor", "", reasons.SPEED_OF_MOTOR),
    _rule(None, "speed air", "", reasons.SPEED_OF_AIR),
    _rule(None, "speed average", "", reasons.SPEED_AVERAGED),
    _rule("speed", "speed"),
    _rule("date", "date", "time timestamp"),
    _rule("time", "time"),
    _rule("time", "timestamp"),
    _rule(None, "temperature", "", reasons.TEMPERATURE_OF_WHAT),
    _rule("cell voltage", "cell"),
)
