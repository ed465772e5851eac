"""Wording about writing a set of files into a folder."""

from __future__ import annotations

from schedcomp.messages.kind import caution, problem

NOT_A_FOLDER = problem(
    "E730",
    "{found} is not a folder.",
    why="The files of a build go into a folder. Nothing was written and nothing was changed.",
    fix="name a folder, new or old\n--out {suggestion}",
)

NAME_TAKEN = problem(
    "E731",
    "{name} in {folder} is not a plain file.",
    why="A link or a folder has the name of a file to write; writing it could change something in "
    "another place. Nothing was written and nothing was changed.",
    fix="rename or remove it, or name another folder\n--out {suggestion}",
)

NOT_WRITABLE = problem(
    "E732",
    "Files cannot be written into {folder}.",
    why="The folder, its disk or a file in it is write-protected, or belongs to someone else. "
    "Files of an earlier build are as they were.",
    fix="name a folder of your own\n--out {suggestion}",
)

DISK_FULL = problem(
    "E733",
    "The disk that holds {folder} is full.",
    why="The files of this build need {kilobytes} kB. Files of an earlier build are as they were.",
    fix="make room, or name a folder on another disk\n--out {suggestion}",
)

IN_USE = problem(
    "E734",
    "The files in {folder} could not be replaced.",
    why="One of them is probably open in another program, or is write-protected. All of them are "
    "as they were.",
    fix="close the file, or name another folder\n--out {suggestion}",
)

CANNOT_WRITE = problem(
    "E735",
    "The files could not be written into {folder}.",
    why="The computer says: {words}. Files of an earlier build are as they were.",
    fix="name another folder\n--out {suggestion}",
)

OLD_LEFT = caution(
    "E736",
    "The new files are in {folder}, but old ones are left in its folder {left}.",
    why="The computer says: {words}. They do no harm; the next build into this folder removes "
    "them.",
)

HALF_WAY = problem(
    "E737",
    "The set of files in {folder} is not complete.",
    why="Replacing the files failed half-way and could not be undone. The computer says: {words}. "
    "No file was lost, and no old file stands beside a new one.",
    fix="build again into this folder, which puts it right\n--out {same}",
)

BUSY = problem(
    "E710",
    "Another command is writing into {folder} at this moment.",
    why="Two sets of files must not get mixed. This one was not written.",
    fix="wait until the other has ended, then give this command again\n{again}",
)
