"""Wording about many sites at once (E801 to E826)."""

from __future__ import annotations

from schedcomp.messages.kind import problem

# Store lists

NO_ROWS = problem(
    "E801",
    "{name} lists no site.",
    why="The first line has the titles of the columns, and each line after it is one site.",
    fix="write, for example\nsite id,name,coordinates,template\n"
    '1042,North lot,"40.5853, -105.0844",north-lot.toml',
)

NEAR_COLUMN = problem(
    "E802",
    "{found} is not a column of a store list.",
    why="Nothing was built: a column that is passed over could change what the lamps do. "
    "Is {near} meant?",
    fix="write as its title\n{typed}",
)

UNKNOWN_COLUMN = problem(
    "E803",
    "{found} is not a column of a store list.",
    why="Columns are {known}, and any key of a site file with its part. Nothing was built: a "
    "column that is passed over could change what the lamps do.",
    fix="take the column out, or write a key with its part, for example\n"
    "circuit.load_kw\nsite.tolerance\nhours.mon-fri",
)

TWO_COLUMNS = problem(
    "E804",
    "The columns {first} and {second} set the same thing.",
    why="Nothing says which of the two is meant.",
    fix="keep one of them\n{typed}",
)

NO_ID_COLUMN = problem(
    "E805",
    "{name} has no column with the title site id.",
    why="The folder of a site's files is named after it, and so is its row in every list.",
    fix="add a column with this title\nsite id",
)

ROW_LENGTH = problem(
    "E806",
    "This row has {has} cells where the first line has {needs}.",
    why="A cell that is missing or too many moves all the cells after it under wrong titles. A "
    "comma within a cell needs quotes around the cell.",
    fix='write the cell in quotes, for example\n"40.5853, -105.0844"',
)

NO_TITLE = problem(
    "E807",
    "The column of this cell has no title.",
    why="Without a title nothing says what the cell is for.",
    fix="empty the cell, or give its column a title, for example\ncircuit.load_kw",
)

OPEN_QUOTE = problem(
    "E808",
    "The quote opened here is not closed.",
    why="Where this cell ends is not known, so the site of this row was not built.",
    fix='close it at the end of the cell, and write a quote in a cell twice\n"the ""old"" lot"',
)

NO_SITE_ID = problem(
    "E809",
    "This row has no site id.",
    why="The folder of a site's files is named after it, and so is its row in every list.",
    fix="write a short name in its first column, for example\n1042",
)

SITE_TWICE = problem(
    "E810",
    "The site {found} is listed twice, first on line {line}.",
    why="Both would write into one folder, so this row was not built. Capitals make no difference.",
    fix="give this row a name of its own, for example\n1042-B",
)

NO_TEMPLATE = problem(
    "E811",
    "This row names no template.",
    why="A template is a site file that has everything the row does not change.",
    fix="name one in a column template, or for all rows in the command\n--template north-lot.toml",
)

WHICH_PART = problem(
    "E812",
    "The template has several [[{part}]], and the column {title} does not say which.",
    why="They are called {names}.",
    fix="write in the title which one is meant\n{typed}",
)

NO_SUCH_PART = problem(
    "E813",
    "The template of this row has no {part} {found}, which the column {title} is for.",
    why="It has {names}.",
    fix="write as the title, or leave the cell empty\n{typed}",
)

PART_MISSING = problem(
    "E814",
    "The template of this row has no [[{part}]], which the column {title} is for.",
    why="A column changes what the template has; a whole part is written in the template.",
    fix="add it to the template, or leave the cell empty\n[[{part}]]",
)

NOT_COORDINATES = problem(
    "E815",
    "{found} is not a latitude and a longitude.",
    why="Both stand in one cell, the latitude first, with a comma between them.",
    fix='write\n"40.5853, -105.0844"',
)

ACCEPT_WITHOUT_REASON = problem(
    "E825",
    "The columns accept and because do not go together in this row.",
    why="It accepts {clauses} and gives {reasons}. What is accepted is printed everywhere with its "
    "reason: one for each, in the same order, with ; between them.",
    fix="write in the column {column}\n{typed}",
)

NO_HOURS = problem(
    "E816",
    "{name} has no part [hours].",
    why="An hours file is a TOML file with the opening hours as in a site file.",
    fix='write, for example\n[hours]\nmon-fri = "07:00-20:00"',
)

LIST_TOO_BIG = problem(
    "E817",
    "The file {path} has more than {most}.",
    why="A store list of 10,000 sites takes 2 MB, so this is probably another file.",
    fix="name the store list, for example\nschedcomp fleet stores.csv",
)

# The run

NO_SITE_FILES = problem(
    "E818",
    "There is no site file in {folder}.",
    why="A site file ends with .toml and has a part [site]. Folders within it are not looked into.",
    fix="name a folder of site files, or a store list, for example\nschedcomp fleet stores.csv",
)

ONE_SITE_FILE = problem(
    "E826",
    "{path} is one file, and no list of sites.",
    why="Many sites stand in a folder, a site file each, or in a store list, a row each.",
    fix="name the folder or the list, or build the one site\nschedcomp build {path}",
)

BUSY = problem(
    "E819",
    "Another run is writing into {folder}.",
    why="Two runs at once would mix their files. Nothing was written.",
    fix="wait until it is done, or name another folder\n--out {suggestion}",
)

NOT_A_RUN = problem(
    "E820",
    "{folder} is not the folder of an earlier run.",
    why="An earlier run has a folder {sites} with a folder for each site.",
    fix="name the folder that --out named then, for example\n--against {example}",
)

SAME_RUN = problem(
    "E821",
    "--against and --out name the same folder.",
    why="The programs that the units hold would be overwritten by the new ones, and then nothing "
    "says what has to be keyed.",
    fix="name another folder\n--out {suggestion}",
)

BAD_JOBS = problem(
    "E822",
    "{found} is not a number of sites to build at a time.",
    why="It can be from 1 to {most}; left out, one for every core of the computer.",
    fix="write\n--jobs 2",
)

TEMPLATE_ALONE = problem(
    "E823",
    "--template is given with a folder of site files.",
    why="A template is for the rows of a store list; every site file stands for itself.",
    fix="leave it out, or name a store list, for example\nschedcomp fleet stores.csv",
)

PROCESS_ENDED = problem(
    "E824",
    "The computer stopped the work on this site.",
    why="It was tried again alone, and stopped again; perhaps there was too little memory. Other "
    "sites are not concerned.",
    fix="run the command again with one site at a time\n--jobs 1",
)

MADE_FROM = "Made from {template} and line {line} of {listed}."
NAMELESS = "line {line}"

# Why somebody has to drive there.

FIRST_PROGRAM = "first program"
NOT_IN_LAST_RUN = "no program in the earlier run"
OTHER_UNIT = "another controller, place or wiring than in the earlier run: all slots anew"
FIRST_FAULT = "from {day} the old program is wrong: the lamps of {circuit} {what}"
RUNS_OUT = "the old program is right until {last}"
STILL_RIGHT = "the old program is right through {last}; not urgent"
SETTINGS_ONLY = "clock or location settings only"
NO_PROGRAM = "no program to key: see the summary"
NO_NEW_PROGRAM = "no new program: see the summary; the old one is right until this date"

STOPPED = "Stopped. Give the same command again to go on; finished sites are kept."
SAFETY = (
    "These circuits switch on by themselves at any time. OFF at the clock is not isolation. "
    "Lock out at the breaker and test before work."
)
LICENSED = (
    " Wiring is for licensed electricians under local codes. The authority decides what a rule "
    "means."
)
