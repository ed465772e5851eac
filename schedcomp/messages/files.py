"""Trouble with files (E701 to E709) and with the writing of TOML in them (E160 to E199)."""

from __future__ import annotations

from schedcomp.messages.kind import problem

# Files

NOT_FOUND = problem(
    "E701",
    "There is no file {path}.",
    why="{reading} {near}",
    fix="check the name and the folder, or write the whole path, for example\n{example}",
)

IS_FOLDER = problem(
    "E702",
    "{path} is a folder, not a file.",
    why="{reading}",
    fix="name the file in it, for example\n{example}",
)

NOT_READABLE = problem(
    "E703",
    "The file {path} cannot be read.",
    why="The computer says: {reason}.",
    fix="close it in other programs and see that you may read it, or name a copy, for example\n"
    "{example}",
)

NOT_UTF8 = problem(
    "E704",
    "The text of {name} is not stored as UTF-8: byte {byte} on line {line} does not fit.",
    why="Letters with accents and signs such as the degree sign are stored in different ways; "
    "this file uses an older one.",
    fix="{fix}",
)

UTF16 = problem(
    "E705",
    "The text of {name} is stored as UTF-16.",
    why='Some editors call this "Unicode". This program reads UTF-8, which every editor can write.',
    fix="{fix}",
)

NOT_TEXT = problem(
    "E706",
    "{name} is not a plain text file: there is a zero byte on line {line}.",
    why="A spreadsheet or word-processor file cannot be read, nor a file that was damaged when "
    "it was copied.",
    fix="save the text alone, in a file whose name ends with {ending}",
)
ENDINGS = (".toml", ".csv", ".txt")
"""Of the files that people write; the first is usual."""
SAVE_AS_UTF8 = 'in the editor choose "Save as", then UTF-8 as the encoding'
SHEET_AS_UTF8 = 'in the spreadsheet choose "Save as", then CSV, with UTF-8 as the encoding'

TOO_BIG = problem(
    "E707",
    "The file {path} is larger than {most} MB.",
    why="Files of this kind are a few thousand characters long, so this is probably another one.",
    fix="name the right file, for example\n{example}",
)

EMPTY = problem(
    "E708",
    "The file {name} is empty.",
    why="Nothing stands in it but blanks and remarks.",
    fix="begin with this line\n{first_line}",
)

NOT_PLAIN = problem(
    "E709",
    "{path} is not a file but a device, or the output of another program.",
    why="Such a thing may never end, so it is not read.",
    fix="store it in a file first and name that, for example\n{example}",
)

# Values without quotes

UNQUOTED_TIME = problem(
    "E160",
    "{found} must stand in quotes.",
    why="Clock times and dates are texts here; without quotes they are read as something else.",
    fix="write\n{typed}",
)

UNQUOTED_WORDS = problem(
    "E161",
    "{found} must stand in quotes.",
    why="Without quotes only a number, true or false may stand here.",
    fix="write\n{typed}",
)

DECIMAL_COMMA = problem(
    "E162",
    "{found} is written with a decimal comma.",
    why="Numbers take a point; a comma separates two things.",
    fix="write\n{typed}",
)

NUMBER_AND_UNIT = problem(
    "E163",
    "{found} is neither a number nor a text in quotes.",
    why="A number with its unit is a text and stands in quotes. Where a key asks for a plain "
    "number, its name says the unit.",
    fix="write\n{typed}",
)

BAD_NUMBER = problem(
    "E164",
    "{found} is not a number as it is written here.",
    why="Numbers have no zeros in front, and digits on both sides of the point.",
    fix="write\n{typed}",
)

YES_OR_NO = problem(
    "E165",
    "{found} must be written {word}, in small letters and without quotes.",
    why="Yes and no are written true and false in these files.",
    fix="write\n{typed}",
)

TWO_ON_A_LINE = problem(
    "E166",
    "Two entries stand on one line.",
    why="Each entry stands on a line of its own.",
    fix="write two lines\n{typed}\n{second}",
)

BAD_VALUE = problem(
    "E167",
    "{found} cannot be read.",
    why="After = comes a text in quotes, a number, true or false, or a list in square brackets.",
    fix="write, for example\n{typed}",
)

# Quotes

MISSING_QUOTE = problem(
    "E168",
    "The quote opened here is not closed on its line.",
    why="A text begins and ends with the same quote, on one line.",
    fix="write\n{typed}",
)

UNCLOSED_TEXT = problem(
    "E169",
    "The text opened with {found} is never closed.",
    why="Three quotes open a text of several lines, and three quotes must close it.",
    fix="use one quote on each side, for example\n{typed}",
)

CURLY_QUOTES = problem(
    "E170",
    "{found} stands in curly or slanted quotes.",
    why="Word processors turn straight quotes into curly ones; only straight quotes work here.",
    fix="write\n{typed}",
)

BACKSLASH = problem(
    "E171",
    "The backslash in {found} changes the sign after it.",
    why="Between double quotes a backslash has a meaning of its own. Paths may be written with /.",
    fix="write\n{typed}",
)

CONTROL_CHARACTER = problem(
    "E172",
    "This text holds a sign that cannot be seen or printed.",
    why="It usually comes from copying out of another program.",
    fix="type the text again, for example\n{typed}",
)

# Form

MISSING_EQUALS = problem(
    "E173",
    "There is no = after {found}.",
    why="An entry is a name, then =, then its value.",
    fix="write\n{typed}",
)

COLON = problem(
    "E174",
    "After {found} stands a colon where = is needed.",
    why="An entry is a name, then =, then its value.",
    fix="write\n{typed}",
)

MISSING_VALUE = problem(
    "E175",
    "Nothing stands after =.",
    why="An entry that is not wanted is left out as a whole; it may also have a # in front.",
    fix="write a value, or put # in front\n{typed}",
)

BAD_KEY = problem(
    "E176",
    "The name {found} before = needs quotes.",
    why="A name of letters, digits, - and _ stands alone; any other needs quotes.",
    fix="write\n{typed}",
)

NO_KEY = problem(
    "E177",
    "No name stands before =.",
    why="An entry is a name, then =, then its value.",
    fix="write, for example\n{typed}",
)

STRAY_LINE = problem(
    "E178",
    "This line is not an entry: {found}.",
    why="Each line is an entry (a name, then =, then its value), the name of a part in square "
    "brackets, or a remark that begins with #. Lines of a list stand between [ and ].",
    fix="if it is a remark, write\n{typed}",
)

BAD_HEADER = problem(
    "E179",
    "{found} is not the name of a part.",
    why="The name of a part stands alone on its line in square brackets. The lines under it could "
    "be checked for their writing only.",
    fix="write, for example\n{typed}",
)

HEADER_BRACKET = problem(
    "E180",
    "The brackets of {found} do not match.",
    why="A part that occurs once has one bracket on each side; a part that may occur several "
    "times, such as a circuit, has two on each side.",
    fix="write\n{typed}",
)

UNCLOSED_LIST = problem(
    "E181",
    "The list opened here with [ is never closed.",
    why="A list begins with [ and ends with ], with commas between its entries.",
    fix="close it after the last entry\n{typed}",
)

UNCLOSED_BRACES = problem(
    "E182",
    "The group opened here with {{ is never closed.",
    why="A group begins with {{ and ends with }}, with commas between its entries.",
    fix="close it after the last entry\n{typed}",
)

MISSING_COMMA = problem(
    "E183",
    "A comma is missing after this entry.",
    why="The entries of a list are separated by commas.",
    fix="write\n{typed}",
)

EXTRA_COMMA = problem(
    "E184",
    "The {found} here does not belong.",
    why="Commas stand only between the entries of a list; nothing follows a value on its line.",
    fix="write\n{typed}",
)

EXTRA_TEXT = problem(
    "E185",
    "{found} stands behind the end of this entry.",
    why="The entry ends before it. Inside a text in double quotes use single quotes; a remark "
    "begins with #.",
    fix="write\n{typed}",
)

TOO_DEEP = problem(
    "E186",
    "Brackets or names are nested more than {most} deep.",
    why="Nothing in these files needs more than a few.",
    fix="write the entry as in this example\n{typed}",
)

REPEATED_KEY = problem(
    "E187",
    "{key} is given twice.",
    why="Nothing says which of the two is meant.",
    fix="delete one of the two, or put this in front of it\n#",
)

REPEATED_PART = problem(
    "E188",
    "The part [{key}] is given twice.",
    why="This part stands once in a file.",
    fix="write all its entries under the first\n[{key}]",
)

SEVERAL_PARTS = problem(
    "E193",
    "The part [{key}] is given twice, in single brackets.",
    why="A part that may occur several times has two brackets on each side, each time.",
    fix="write each time\n[[{key}]]",
)

VALUE_AND_PART = problem(
    "E189",
    "{key} is given once as a single entry and once as a part.",
    why="Nothing says which of the two is meant.",
    fix="delete one of the two, or put this in front of it\n#",
)

MIXED_BRACKETS = problem(
    "E190",
    "{key} is given with single and with double brackets.",
    why="A part that may occur several times has double brackets each time.",
    fix="write each time\n[[{key}]]",
)

TOO_MANY = problem(
    "E191",
    "There are too many mistakes to name them all; the check of this file stopped here.",
    why="This is perhaps not the file that was meant, or a quote or bracket is missing above.",
    fix="mend the first ones and look again with\nschedcomp check {name}",
)

TOO_LONG = problem(
    "E194",
    "The file has more than {most} entries; it was read up to here.",
    why="A site file has a few dozen, so this is probably another file.",
    fix="name the site file, for example\nnorth-lot.toml",
)

MISSING_BRACES = problem(
    "E195",
    "Entries within an entry stand in braces.",
    why="The group of them begins with {{ and ends with }}, with commas between them.",
    fix="write\n{typed}",
)

NOT_TOML = problem(
    "E192",
    "The file cannot be read from here on.",
    why="Something in this line is not written as a TOML file needs it.",
    fix="write the line as in this example\n{typed}",
)
