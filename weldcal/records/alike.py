"""What people also write for a word of a choice, in English and Spanish.

Invariant: a word means one thing within its choice; `records.fields.choose` reads them.
"""

from __future__ import annotations

# What people say of a sheet's damp without a word before it.
DAMP = {
    "damp": "yes", "wet": "yes", "humeda": "yes", "humedo": "yes", "mojada": "yes", "mojado": "yes",
    "dry": "no", "seca": "no", "seco": "no",
}  # fmt: skip
# What people also write for a choice, in English and Spanish, accents dropped: on the command line,
# in a line, in a crew's sheet (common practice, no source).
ALIKE: dict[str, dict[str, str]] = {
    "bubbling": {"n": "none", "no": "none", "0": "none", "-": "none", "nothing": "none", "ninguno": "none",
                 "ninguna": "none", "nada": "none", "t": "trace", "slight": "trace", "some": "trace", "leve": "trace",
                 "poco": "trace", "pocas": "trace", "algo": "trace", "h": "heavy", "bad": "heavy", "lots": "heavy",
                 "mucho": "heavy", "muchas": "heavy", "fuerte": "heavy"},
    "units": {"metric": "si", "metrico": "si", "metrica": "si", "metricas": "si", "metricos": "si",
              "us customary": "us"},
    "bond": {"ok": "good", "g": "good", "pass": "good", "buena": "good", "bueno": "good", "bien": "good",
             "c": "cold", "fail": "cold", "poor": "cold", "bad": "cold", "fria": "cold", "frio": "cold",
             "mala": "cold", "malo": "cold", "untried": "not tried", "not-tried": "not tried",
             "nottried": "not tried", "n/t": "not tried", "nt": "not tried", "-": "not tried",
             "no probado": "not tried", "no probada": "not tried", "sin probar": "not tried"},
    "lap": {"granule": "granules", "over granules": "granules", "selvedge": "selvage", "s": "selvage", "sanded": "sand", "arena": "sand",
            "pelicula": "film", "filmed": "film",
            "g": "granules", "orillo": "selvage", "granulos": "granules", "granulo": "granules", "mineral": "granules"},
    "sky": {"sunny": "clear", "sun": "clear", "sol": "clear", "soleado": "clear", "despejado": "clear",
            "partly cloudy": "broken", "partly": "broken", "mixed": "broken", "variable": "broken",
            "cloudy": "overcast", "cloud": "overcast", "grey": "overcast", "gray": "overcast", "nublado": "overcast",
            "cubierto": "overcast"},
    "yes_no": {"y": "yes", "true": "yes", "1": "yes", "x": "yes", "n": "no", "false": "no", "0": "no",
               "none": "no", "si": "yes", "s": "yes", **DAMP},
    "start_answer": {"y": "yes", "ok": "yes", "x": "yes", "n": "no", "open": "no", "na": "not needed",
                     "n/a": "not needed", "none": "not needed", "-": "not needed", "si": "yes", "s": "yes",
                     "no hace falta": "not needed", "no aplica": "not needed"},
    "dryness": {"seco": "dry", "seca": "dry", "no": "wet", "humedo": "wet", "mojado": "wet"},
    "flaw": {"open": "void", "hueco": "void", "vacio": "void", "abierto": "void", "abierta": "void",
             "fria": "cold", "frio": "cold", "boca": "fishmouth", "scorch": "scorched", "burnt": "scorched",
             "quemado": "scorched", "quemada": "scorched", "arruga": "wrinkle", "ampolla": "blister",
             "otro": "other", "otra": "other", "sample": "sample cut", "cut": "sample cut"},
    "seam_kind": {"side": "side lap", "end": "end lap", "tie-in": "night tie-in", "tjoint": "T-joint",
                  "t-joint": "T-joint"},
    "factor": {"lap kind": "lap", "solape": "lap", "side or end": "kind", "side": "kind", "end": "kind", "seam": "kind",
               "tipo": "kind", "person": "operator", "who": "operator", "persona": "operator", "operador": "operator",
               "maquina": "machine", "hora": "hour", "time": "hour", "clima": "weather", "tiempo": "weather",
               "herramienta": "tool", "hand": "tool", "lamina": "sheet", "go ahead": "go-ahead"},
    "judged_by": {"bleed": "bleed-out", "bleedout": "bleed-out", "peel": "bond"},
    "parted": {"compound": "in the compound", "reinforcement": "in the reinforcement",
               "lap": "at the lap", "no": "not parted", "en el compuesto": "in the compound",
               "en la armadura": "in the reinforcement", "en el refuerzo": "in the reinforcement",
               "en el solape": "at the lap", "en el traslape": "at the lap",
               "no se despego": "not parted", "sin separarse": "not parted"},
}  # fmt: skip
