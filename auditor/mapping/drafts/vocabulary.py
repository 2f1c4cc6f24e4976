"""Words that headers and cells of exports are likely to use, in English, German, French and Spanish.

They serve for proposals in a draft alone: a map states every word that it translates.
"""

LANGUAGES = ("English", "German", "French", "Spanish")
# By concept, as header words: a phrase of several words counts more than a word of it.
HEADERS: dict[str, str] = {
    "site_id": (
        "site/building/branch/property/location/site id/site code/code/standort nr/standort/"
        "liegenschaft/gebäude/objekt/nr/no/n/number/nummer/numéro/número/site no/lieu/bâtiment/"
        "établissement/sitio/edificio/sucursal"
    ),
    "site_name": "name/site name/building name/standort/nom/nombre/title",
    "address": "address/street/adresse/straße/strasse/rue/dirección/calle",
    "region": "region/district/gebiet/bezirk/région/secteur/región/distrito",
    "site_type": "site type/building type/gebäudeart/type de site/tipo de sitio",
    "latitude": "lat/latitude/breite/breitengrad/latitud/north",
    "longitude": "lon/long/lng/longitude/länge/längengrad/longitud/east",
    "timezone": "timezone/time zone/tz/zone/zeitzone/fuseau/fuseau horaire/zona horaria/huso",
    "controller_id": (
        "controller/panel/device/clock/time switch/timer/schaltuhr/uhr/gerät/steuerung/"
        "horloge/automate/tableau/reloj/cuadro/controlador"
    ),
    "read_at": (
        "read/read at/read on/panel read/exported/export date/abgelesen/ausgelesen/ablesung/"
        "relevé/lu le/leído/lectura"
    ),
    "clock_reading": (
        "clock/panel clock/device clock/device time/clock shows/gerätezeit/anzeige/"
        "heure affichée/hora del reloj"
    ),
    "circuit_id": (
        "circuit/circuit id/load/line/channel/relay/output/kreis/stromkreis/linie/kanal/"
        "départ/ligne/circuito/línea"
    ),
    "circuit_name": (
        "load name/circuit name/description/serves/label/bezeichnung/désignation/libellé/descripción"
    ),
    "area": "use/kind/type/area/purpose/ort/nutzung/art/usage/emplacement/uso/tipo/área",
    "connected_watts": (
        "watts/w/kw/load kw/load w/power/wattage/leistung/leistung kw/puissance/puissance w/potencia"
    ),
    "on": "on/switch on/on at/lights on/start/ein/an/einschalten/allumage/marche/encendido/on time",
    "off": "off/switch off/off at/lights off/stop/end/aus/ausschalten/extinction/arrêt/apagado/off time",
    "action": "action/state/command/switching/aktion/befehl/schaltung/ordre/acción/orden/estado",
    "time": "at/time/when/from/uhrzeit/zeit/heure/hora",
    "days": "days/weekdays/day/day type/run days/wochentage/tage/jours/días",
    "from": "from/valid from/season from/gültig ab/von/du/desde",
    "until": "to/until/valid to/season to/gültig bis/bis/au/hasta",
    "event_id": "step/step no/event/schritt/étape/paso",
    "opens": "open/opens/opening/from/von/öffnet/ouverture/ouvre/abre/apertura",
    "closes": "close/closes/closing/to/bis/schließt/fermeture/ferme/cierra/cierre",
    "date": "date/holiday/datum/feiertag/jour férié/fecha/festivo",
}
_DAYS = (
    """mo mon monday/tu tue tues tuesday/we wed weds wednesday/th thu thur thurs thursday/fr fri friday/
    sa sat saturday/su sun sunday""",
    """mo montag/di dienstag/mi mittwoch/do donnerstag/fr freitag/sa samstag sonnabend/so sonntag""",
    """lu lun lundi/ma mar mardi/me mer mercredi/je jeu jeudi/ve ven vendredi/sa sam samedi/
    di dim dimanche""",
    """lu lun lunes/ma mar martes/mi mié mie miércoles/ju jue jueves/vi vie viernes/sa sáb sab sábado/
    do dom domingo""",
)
_WEEK = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
_SETS = (
    {"daily": "daily", "every day": "daily", "all": "daily", "all days": "daily", "everyday": "daily",
     "weekdays": "MO,TU,WE,TH,FR", "weekday": "MO,TU,WE,TH,FR", "workdays": "MO,TU,WE,TH,FR",
     "weekend": "SA,SU", "weekends": "SA,SU"},
    {"täglich": "daily", "tägl.": "daily", "tägl": "daily", "alle": "daily", "wochenende": "SA,SU"},
    {"tous": "daily", "tous les jours": "daily", "quotidien": "daily", "week-end": "SA,SU"},
    {"todos": "daily", "diario": "daily", "todos los días": "daily", "fin de semana": "SA,SU"},
)  # fmt: skip
# Names as they are compared; each language has its own.
DAYS: dict[str, dict[str, str]] = {
    language: {name: day for day, names in zip(_WEEK, week.split("/"), strict=True) for name in names.split()}
    | sets
    for language, week, sets in zip(LANGUAGES, _DAYS, _SETS, strict=True)
}
# Days of work by a country's law, and as many people use the word: whether Saturday is one must be asked.
# (German holiday law counts it, Bundesurlaubsgesetz section 3, from memory; the others: common practice, no
# source.)
_UNSURE = ("werktags", "werktage", "werktag", "ouvrables", "jours ouvrables", "laborables")
UNSURE = dict.fromkeys(_UNSURE, ("MO,TU,WE,TH,FR,SA", "MO,TU,WE,TH,FR"))
THROUGH = ("bis", "to", "through", "thru", "till", "until", "à", "au", "a", "al", "hasta")  # Mon to Fri
INITIALS = ("MTWTFSS", "MDMDFSS", "LMMJVSD", "LMXJVSD")  # of a week from Monday, a column each
SUN = {
    "sunrise": "sunrise", "sunset": "sunset", "dawn": "dawn", "dusk": "dusk", "sr": "sunrise", "ss": "sunset",
    "sonnenaufgang": "sunrise", "sonnenuntergang": "sunset", "sa": "sunrise", "su": "sunset",
    "lever": "sunrise", "coucher": "sunset", "aube": "dawn", "crépuscule": "dusk",
    "amanecer": "sunrise", "ocaso": "sunset", "alba": "dawn", "anochecer": "dusk",
}  # fmt: skip
ACTIONS = {
    "on": "on", "off": "off", "1": "on", "0": "off", "ein": "on", "an": "on", "aus": "off", "marche": "on",
    "arrêt": "off", "allumé": "on", "éteint": "off", "encendido": "on", "apagado": "off", "x": "on",
    "level": "level", "suspend": "suspend", "resume": "resume",
}  # fmt: skip
# In a text about light, whatever else it says: this may show a way out, or guard or care for somebody.
# Evidence goes by the same words; at worst a question too many.
WAY_OUT = (
    r"emerg|egress|\bexits?\b|escape|evacu|[ée]vacu|stair|\bway ?out|\bfire\b|safety|security|\bem\b|"
    r"notlicht|notbel|notausgang|sicherheit|fluchtw|rettungsw|treppe|secours|urgence|escalier|issue de|"
    r"s[ée]curit|salida|escalera|seguridad"
)
CARE = (
    r"care|clinic|hospice|hospital|hospic|medical|nursing|assisted|elder|surgery|dental|patient|treatment|"
    r"infirm|\bwards?\b|klinik|krankenh|pflege|h[oô]pital|\bsoins|cl[ií]nica|residencia"
)
GUARD = r"security|sicherheit|s[ée]curit|seguridad"  # guards, and shows no way out
AREAS = {
    "interior": "interior indoor indoors inside room rooms office hall innen halle intérieur oficina",
    "parking": "parking car park lot yard parkplatz hof stationnement aparcamiento",
    "walkway": "walkway path paths steps fußweg gehweg weg cheminement allée camino sendero",
    "canopy": "canopy vordach auvent marquesina",
    "facade": "facade façade wall wash front fassade fachada",
    "landscape": "landscape garden garten jardin jardín",
    "sign": "sign signs logo schild enseigne rótulo letrero",
}
CLOSED = ("closed", "geschlossen", "zu", "fermé", "ferme", "cerrado", "-", "–", "—", "x", "n/a")
TOTALS = ("total", "sum", "summe", "somme", "suma", "grand total", "subtotal")
