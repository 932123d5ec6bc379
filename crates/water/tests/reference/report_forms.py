"""Writes invented water reports in eight forms and five languages, with the values
that a reader should find, into tests/reports.

The expected values are reckoned here, from molar masses of periodictable 2.1.0 and
the definitions of the degrees of hardness (10 mg CaO/L; 10 mg CaCO3/L; one grain
per imperial gallon), and owe nothing to the program. Ions are in mg/L of the ion,
alkalinity and hardness in mEq/L, chlorine in mg/L as Cl2.

    python report_forms.py ../reports
"""

import random
import sys
from pathlib import Path

import periodictable as pt


def mass(formula):
    return pt.formula(formula).mass


CACO3 = mass("CaCO3") / 2
MEQ = {
    "°dH": 10 * 2 / mass("CaO"),
    "°fH": 10 / CACO3,
    "°e": 64.79891 / 4.54609 / CACO3,
    "mg/L CaCO3": 1 / CACO3,
    "mmol/L": 2.0,
    "mEq/L": 1.0,
}
ALK = {
    "mg/L as CaCO3": 1 / CACO3,
    "mg/L HCO3": 1 / mass("HCO3"),
    "mmol/L": 1.0,
    "mval/l": 1.0,
    "°f": 10 / CACO3,
}
NAMES = {
    "en": dict(calcium="Calcium", magnesium="Magnesium", sodium="Sodium", potassium="Potassium",
               chloride="Chloride", sulfate="Sulphate", nitrate="Nitrate", iron="Iron",
               **{"total-hardness": "Total hardness", "alkalinity": "Total alkalinity", "ph": "pH",
                  "conductivity": "Electrical conductivity", "free-chlorine": "Free chlorine"}),
    "de": dict(calcium="Kalzium", magnesium="Magnesium", sodium="Natrium", potassium="Kalium",
               chloride="Chlorid", sulfate="Sulfat", nitrate="Nitrat", iron="Eisen",
               **{"total-hardness": "Gesamthärte", "alkalinity": "Säurekapazität bis pH 4,3", "ph": "pH-Wert",
                  "conductivity": "Leitfähigkeit", "free-chlorine": "freies Chlor"}),
    "fr": dict(calcium="Calcium", magnesium="Magnésium", sodium="Sodium", potassium="Potassium",
               chloride="Chlorures", sulfate="Sulfates", nitrate="Nitrates", iron="Fer total",
               **{"total-hardness": "Titre hydrotimétrique (TH)", "alkalinity": "Titre alcalimétrique complet (TAC)",
                  "ph": "pH", "conductivity": "Conductivité", "free-chlorine": "Chlore libre"}),
    "es": dict(calcium="Calcio", magnesium="Magnesio", sodium="Sodio", potassium="Potasio",
               chloride="Cloruros", sulfate="Sulfatos", nitrate="Nitratos", iron="Hierro",
               **{"total-hardness": "Dureza total", "alkalinity": "Alcalinidad", "ph": "pH",
                  "conductivity": "Conductividad", "free-chlorine": "Cloro libre residual"}),
    "nl": dict(calcium="Calcium", magnesium="Magnesium", sodium="Natrium", potassium="Kalium",
               chloride="Chloride", sulfate="Sulfaat", nitrate="Nitraat", iron="IJzer",
               **{"total-hardness": "Totale hardheid", "alkalinity": "Alkaliteit", "ph": "Zuurgraad",
                  "conductivity": "Geleidbaarheid", "free-chlorine": "Vrij chloor"}),
}
WORDS = {
    "en": ("Parameter", "Unit", "Result", "Limit", "Mean", "Min", "Max", "Date", "All values in mg/L", "Zone", "Date of sampling"),
    "de": ("Parameter", "Einheit", "Messwert", "Grenzwert", "Mittelwert", "Min.", "Max.", "Datum", "Alle Angaben in mg/l", "Versorgungsgebiet", "Entnahmedatum"),
    "fr": ("Paramètre", "Unité", "Résultat", "Limite de qualité", "Moyenne", "Mini", "Maxi", "Date", "Valeurs en mg/L", "Zone de distribution", "Date de prélèvement"),
    "es": ("Parámetro", "Unidad", "Valor", "Valor paramétrico", "Media", "Mínimo", "Máximo", "Fecha", "Valores en mg/L", "Zona de abastecimiento", "Fecha de muestreo"),
    "nl": ("Parameter", "Eenheid", "Resultaat", "Norm", "Gemiddelde", "Laagste", "Hoogste", "Datum", "Alle waarden in mg/l", "Voorzieningsgebied", "Monsterdatum"),
}
LIMITS = dict(sodium="200", chloride="250", sulfate="250", nitrate="50", iron="200", ph="9.5", conductivity="2500")
SYMBOL = dict(calcium="Ca2+", magnesium="Mg²⁺", sodium="Na+", potassium="K+", chloride="Cl-", sulfate="SO4 2-", nitrate="NO3-", iron="Fe")
IONS = ["calcium", "magnesium", "sodium", "potassium", "chloride", "sulfate", "nitrate"]
SPAN = dict(calcium=(8, 140), magnesium=(2, 30), sodium=(5, 90), potassium=(1, 8), chloride=(8, 110), sulfate=(8, 160), nitrate=(1, 40))
PLACES = ["Harrowmere", "Cold Fell", "Tarn Lane", "Quay Street", "Skerrow"]


class Report:
    def __init__(self, form, lang, rng):
        self.form, self.lang, self.rng = form, lang, rng
        self.lines, self.values, self.samples = [], [], 1
        self.names, self.words = NAMES[lang], WORDS[lang]

    def num(self, x, decimals):
        text = f"{x:.{decimals}f}"
        shown = text if self.lang == "en" else text.replace(".", ",")
        return shown, float(text)

    def ion(self, key):
        low, high = SPAN[key]
        return self.num(self.rng.uniform(low, high), 1)

    def put(self, key, value, sample=0):
        self.values.append((sample, key, value))

    def rows(self):
        """Name, unit, printed figure, canonical value, limit."""
        out = []
        for key in IONS:
            text, x = self.ion(key)
            unit, factor = "mg/L", 1.0
            if key == "nitrate" and self.rng.random() < 0.5:
                unit, factor = "mg/L NO3", 1.0
            if key == "calcium" and self.rng.random() < 0.2:
                text, x = self.num(x / mass("Ca"), 2)
                unit, factor = "mmol/L", mass("Ca")
            out.append((key, unit, text, x * factor))
        unit = self.rng.choice(list(MEQ))
        text, x = self.num(self.rng.uniform(1, 7) / MEQ[unit], 2)
        out.append(("total-hardness", unit, text, x * MEQ[unit]))
        unit = self.rng.choice(list(ALK))
        text, x = self.num(self.rng.uniform(0.5, 6) / ALK[unit], 2)
        out.append(("alkalinity", unit, text, x * ALK[unit]))
        text, x = self.num(self.rng.uniform(6.9, 8.4), 2)
        out.append(("ph", "pH", text, x))
        text, x = self.num(self.rng.uniform(100, 900), 0)
        out.append(("conductivity", "µS/cm", text, x))
        text, x = self.num(self.rng.uniform(0.1, 0.8), 2)
        out.append(("free-chlorine", "mg/L", text, x))
        text, x = self.num(self.rng.uniform(5, 90), 0)
        out.append(("iron", "µg/L", text, x / 1000))
        return out

    def head(self):
        place = self.rng.choice(PLACES)
        self.lines += [f"{self.words[9]}: {place} (invented)", f"{self.words[10]}: 2027-0{self.rng.randint(1, 9)}-1{self.rng.randint(0, 9)}", ""]

    def limit(self, key):
        return LIMITS.get(key, "").replace(".", "." if self.lang == "en" else ",")

    def plain(self):
        self.head()
        for key, unit, text, value in self.rows():
            symbol = f" ({SYMBOL[key]})" if key in SYMBOL else ""
            unit = "" if key == "ph" else f" {unit}"
            self.lines.append(f"{self.names[key]}{symbol}: {text}{unit}")
            self.put(key, value)

    def brackets(self):
        self.head()
        for key, unit, text, value in self.rows():
            unit = "" if key == "ph" else f" [{unit}]"
            self.lines.append(f"{self.names[key]}{unit} = {text}")
            self.put(key, value)

    def table(self, mark):
        self.head()
        self.lines.append(mark.join(self.words[i] for i in (0, 1, 2, 3)))
        for key, unit, text, value in self.rows():
            self.lines.append(mark.join([self.names[key], "-" if key == "ph" else unit, text, self.limit(key)]))
            self.put(key, value)

    def means(self):
        """Mean, least, greatest, limit; parted by semicolons. The mean counts."""
        self.lines.append(";".join(self.words[i] for i in (0, 1, 4, 5, 6, 3)))
        for key, unit, text, value in self.rows():
            x = float(text.replace(",", "."))
            decimals = len(text.replace(",", ".").partition(".")[2])
            low, high = self.num(x * 0.9, decimals)[0], self.num(x * 1.15, decimals)[0]
            self.lines.append(";".join([self.names[key], "" if key == "ph" else unit, text, low, high, self.limit(key)]))
            self.put(key, value)

    def aligned(self):
        self.head()
        widths = (40, 18, 14, 20)
        pad = lambda cells: "".join(c.ljust(w) for c, w in zip(cells, widths)).rstrip()
        self.lines.append(pad([self.words[i] for i in (0, 1, 2, 3)]))
        for key, unit, text, value in self.rows():
            self.lines.append(pad([self.names[key], "pH" if key == "ph" else unit, text, self.limit(key)]))
            self.put(key, value)

    def heading(self):
        self.head()
        self.lines.append(self.words[8] + ":")
        for key in IONS:
            text, x = self.ion(key)
            name = self.names[key] if self.rng.random() < 0.5 else SYMBOL[key]
            self.lines.append(f"{name}  {text}")
            self.put(key, x)

    def wide(self):
        mark = ";" if self.lang != "en" else ","
        self.lines.append(mark.join([self.words[7]] + [f"{self.names[k]} (mg/L)" for k in IONS] + ["pH"]))
        for sample in range(4):
            cells = [f"2027-{2 + 3 * sample:02d}-1{sample}"]
            for key in IONS:
                text, x = self.ion(key)
                cells.append(text)
                self.put(key, x, sample)
            text, x = self.num(self.rng.uniform(7, 8), 1)
            self.put("ph", x, sample)
            self.lines.append(mark.join(cells + [text]))
        self.samples = 4

    def bars(self):
        """Two dates as columns."""
        self.lines.append("| " + " | ".join([self.words[0], self.words[1], "2027-02-03", "2027-08-04", self.words[3]]) + " |")
        self.lines.append("|---|---|---|---|---|")
        first = self.rows()
        second = self.rows()
        for (key, unit, text, value), (_, unit2, text2, value2) in zip(first, second):
            if unit != unit2:
                text2, value2 = text, value
            self.lines.append(f"| {self.names[key]} | {'-' if key == 'ph' else unit} | {text} | {text2} | {self.limit(key)} |")
            self.put(key, value, 0)
            self.put(key, value2, 1)
        self.samples = 2


def main(folder):
    forms = {
        "plain": Report.plain,
        "brackets": Report.brackets,
        "tabs": lambda r: r.table("\t"),
        "semicolons": lambda r: r.table(" ; "),
        "means": Report.means,
        "aligned": Report.aligned,
        "heading": Report.heading,
        "wide": Report.wide,
        "bars": Report.bars,
    }
    expected = ["# Made by tests/reference/report_forms.py with periodictable " + pt.__version__ + "."]
    for form, write in forms.items():
        for lang in NAMES:
            report = Report(form, lang, random.Random(f"{form}-{lang}"))
            write(report)
            name = f"made-{form}-{lang}.{'csv' if form in ('semicolons', 'means', 'wide') else 'txt'}"
            Path(folder, name).write_text("\n".join(report.lines) + "\n", encoding="utf-8")
            expected += ["", "[[report]]", f'file = "{name}"', f"analyses = {report.samples}", "values = ["]
            expected += [f'    "{s} {k} {v:.9g}",' for s, k, v in report.values]
            expected.append("]")
    Path(folder, "made.toml").write_text("\n".join(expected) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1])
