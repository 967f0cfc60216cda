-- Times are milliseconds since the start of 1970, UTC.

-- What the list shows. It stands apart from the content so that 500 projects are listed without reading their texts.
CREATE TABLE project (
    id INTEGER PRIMARY KEY AUTOINCREMENT,  -- never given twice
    title TEXT NOT NULL,                   -- a copy of the title within content, written together with it
    revision INTEGER NOT NULL,             -- the newest in history, 0 while nothing was changed
    changed INTEGER NOT NULL,
    rows INTEGER,                          -- as last read; NULL when it never was
    doubts INTEGER,                        -- still open, as last read
    removed INTEGER                        -- when it was put away; NULL while it stands on the shelf
) STRICT;

-- The newest state of each project, in parts so that a change writes only what it alters.
CREATE TABLE content (
    project INTEGER NOT NULL REFERENCES project (id),
    part INTEGER NOT NULL,                 -- 1 the sheet, JSON of everything but the texts; 2 the text; 3 the glossary
    value TEXT NOT NULL,
    digest TEXT NOT NULL,                  -- of the value, so that damage on the disk is noticed
    PRIMARY KEY (project, part)
) STRICT;

-- What undo takes back in one go.
CREATE TABLE step (
    project INTEGER NOT NULL REFERENCES project (id),
    number INTEGER NOT NULL,               -- counts up from 1 within the project
    label TEXT NOT NULL,                   -- such as "typing"
    state INTEGER NOT NULL,                -- 1 made, 2 undone, 3 cut off: undone and then overtaken by another change
    PRIMARY KEY (project, number)
) STRICT, WITHOUT ROWID;

-- What undo and redo would take next, found without a walk over all steps.
CREATE INDEX step_by_state ON step (project, state, number);

-- Everything that happened to a project, one row a revision. Rows are only ever added.
CREATE TABLE history (
    project INTEGER NOT NULL REFERENCES project (id),
    revision INTEGER NOT NULL,
    kind INTEGER NOT NULL,                 -- 1 changes made, 2 the step undone, 3 the step redone
    step INTEGER NOT NULL,
    window TEXT,                           -- who made the changes; NULL for 2 and 3
    at INTEGER NOT NULL,
    forward TEXT,                          -- JSON: the changes; NULL for 2 and 3, which repeat those of their step
    backward TEXT,                         -- JSON: the changes that take them back; NULL for 2 and 3
    PRIMARY KEY (project, revision),
    FOREIGN KEY (project, step) REFERENCES step (project, number)
) STRICT;

-- The changes of one step, to undo and redo it.
CREATE INDEX history_by_step ON history (project, step, revision);

-- States with a name.
CREATE TABLE label (
    project INTEGER NOT NULL REFERENCES project (id),
    revision INTEGER NOT NULL,
    name TEXT NOT NULL,
    made INTEGER NOT NULL,
    PRIMARY KEY (project, revision, name)
) STRICT, WITHOUT ROWID;

-- Pictures of pages that were ever added. The bytes lie in the folder of pages under their digest, and never change.
CREATE TABLE page (
    project INTEGER NOT NULL REFERENCES project (id),
    number INTEGER NOT NULL,               -- counts up from 1 within the project, never given twice
    media TEXT NOT NULL,
    digest TEXT NOT NULL,
    PRIMARY KEY (project, number)
) STRICT, WITHOUT ROWID;

-- The place at the needles.
CREATE TABLE place (
    project INTEGER PRIMARY KEY REFERENCES project (id),
    piece INTEGER NOT NULL,
    row INTEGER NOT NULL,
    stitch INTEGER NOT NULL
) STRICT;

-- Rows that were finished at the needles, for the pace of the work.
CREATE TABLE worked (
    id INTEGER PRIMARY KEY,
    project INTEGER NOT NULL REFERENCES project (id),
    piece INTEGER NOT NULL,
    row INTEGER NOT NULL,
    at INTEGER NOT NULL
) STRICT;

CREATE INDEX worked_by_project ON worked (project, at);
