"""References of the heat-treatment formulas, each named once because several files cite it."""

from billet.metal.sources import Source

ANDREWS_1965 = Source(
    "andrews1965",
    "K. W. Andrews, Empirical formulae for the calculation of some transformation temperatures, JISI 203 (1965) "
    "721-727; coefficients as coded in two public programs",
    "second-hand",
)
GRANGE_1961 = Source(
    "grange1961",
    "R. A. Grange, 1961, equilibrium start of austenite; as coded in public kinetics programs",
    "second-hand",
)
FE_C_CALPHAD = Source(
    "fe-c",
    "Cementite limit of austenite, calculated with pycalphad 0.11.2 and its Fe-C database (cfe_broshe.tdb)",
    "computed",
)
LEE_LEE_2007 = Source(
    "lee-lee2007",
    "S.-J. Lee and Y.-K. Lee, ISIJ Int. 47 (2007) 769: slopes of Acm in Cr, Si and Ni only",
    "from memory",
)
INGBER_KUNERT_2022 = Source(
    "ingber-kunert2022",
    "J. Ingber and M. Kunert, Prediction of the Martensite Start Temperature in High-Carbon Steels, steel research "
    "int. 93 (2022) 2100576, and its published companion code",
    "verified",
)
VAN_BOHEMEN_2012 = Source(
    "van-bohemen2012",
    "S. M. C. van Bohemen, Mater. Sci. Technol. 28 (2012) 487-495; as coded in public programs",
    "second-hand",
)
STEVEN_HAYNES_1956 = Source(
    "steven-haynes1956",
    "W. Steven and A. G. Haynes, JISI 183 (1956) 349-359; as coded in a public program",
    "second-hand",
)
KUNG_RAYMENT_1982 = Source(
    "kung-rayment1982",
    "C. Y. Kung and J. J. Rayment, Metall. Trans. A 13 (1982) 328-331; as coded in a public program",
    "second-hand",
)
CAPDEVILA_2002 = Source(
    "capdevila2002",
    "C. Capdevila, F. G. Caballero and C. Garcia de Andres, ISIJ Int. 42 (2002) 894-902; as coded in a public program",
    "second-hand",
)
TRZASKA = Source(
    "trzaska", "J. Trzaska, martensite start of low-alloy steels; as coded in a public program", "second-hand"
)
KOISTINEN_MARBURGER_1959 = Source(
    "koistinen-marburger1959",
    "D. P. Koistinen and R. E. Marburger, Acta Metall. 7 (1959) 59-60; rate as quoted in public code",
    "second-hand",
)
ASTM_A255 = Source(
    "astm-a255",
    "ASTM A255-10 (2014), Standard Test Methods for Determining Hardenability of Steel; equations as printed in a "
    "public metallurgical handbook",
    "second-hand",
)
ASTM_E140 = Source(
    "astm-e140",
    "ASTM E140-12b table 1, hardness conversion of non-austenitic steels; rows 68, 65, 60, 55, 50, 45 and 40 HRC "
    "as coded in a public program, the others from memory",
    "from memory",
)
TOOL_STEELS_W_HEATS = Source(
    "tool-steels-w",
    "Tool Steels (ASM International), table 7-3: compositions and measured hardenability of W-type tool steels",
    "verified",
)
GROSSMANN_1939 = Source(
    "grossmann1939",
    "M. A. Grossmann, M. Asimow and S. F. Urban, Hardenability of Alloy Steels, ASM 1939: half-temperature criterion",
    "from memory",
)
GROSSMANN_SEVERITY = Source(
    "grossmann-h", "Quench severity H of oils, water, brine and air, as in two public tables", "second-hand"
)
QUENCH_JUDGEMENT = Source(
    "quench-oils",
    "Quench severity of fast and canola-type oils; 0.7 of the ideal diameter for 95 % martensite "
    "(after Hodge and Orehoski 1946)",
    "from memory",
)
HOLLOMON_JAFFE_1945 = Source(
    "hollomon-jaffe1945",
    "J. H. Hollomon and L. D. Jaffe, Time-temperature relations in tempering steel, Trans. AIME 162 "
    "(1945) 223-249; points as in the open tempering data set of Raiipa (CC BY 4.0)",
    "verified",
)
GRANGE_BAUGHMAN_1956 = Source(
    "grange-baughman1956",
    "R. A. Grange and R. W. Baughman, Trans. ASM 48 (1956) 165-197; points as in the open "
    "tempering data set of Raiipa (CC BY 4.0)",
    "verified",
)
LOCAL_TEMPER_FIT = Source(
    "temper-fit",
    "Our fit to 31 points of the open tempering data set, plain carbon steel 0.74-0.98 %C, 150-260 C, 10 min "
    "to 24 h: rms 0.7 HRC, worst 1.5",
    "computed",
)
TEMPER_ROWS = Source(
    "temper-rows",
    "Published tempering rows of the steel itself (steel maker's data sheet or measured series), read linearly",
    "second-hand",
)
BEARING_ANCHORS = Source(
    "bearing-austenite",
    "Austenite kept by 52100: 8, 15 and 18 % at 816, 843 and 871 C after 25 min (thesis, MIT, second-hand); 10 to 55 % "
    "over 825 to 1000 C, 780 down to 670 HV (abstract of a thesis, METU)",
    "second-hand",
)
AUSTENITE_SOFTENS = Source(
    "austenite-softens",
    "About 0.1 HRC for every percent of austenite past 15; 52100 falls from 780 to 670 HV as it goes from 10 to 55 %",
    "from memory",
)
SOAK_JUDGEMENT = Source(
    "soak", "Ten times the soak dissolves carbide as 25 C more heat would: our judgement", "judgement"
)
GRAIN_DATA = Source(
    "grain-data",
    "Austenite grain of steels near 1 %C: 16 um at 900 C, 39 and 64 um at 1000 C after 30 min, growing with time to the "
    "power 0.171 (open grain growth data set)",
    "verified",
)
DOOLEY_COLOURS = Source(
    "dooley", "W. H. Dooley, Applied Science for Metal Workers: heat colours and temper colours", "verified"
)
SHOP_PRACTICE = Source(
    "shop-practice",
    "Hardening practice of knife forges: heats, normalising, tests without instruments",
    "common practice",
)
