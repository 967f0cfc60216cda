-- Pieces are under way at the same time, and a move at the needles can be taken back: one place a project is not enough
-- for that. Nothing ever wrote into the table of rows that were finished; the moves tell the same.

-- Where she went at the needles, one row a move. Rows are only ever added; taking back alters their state alone.
CREATE TABLE move (
    project INTEGER NOT NULL REFERENCES project (id),
    number INTEGER NOT NULL,               -- counts up from 1 within the project
    piece INTEGER NOT NULL,                -- counts from 0
    time INTEGER NOT NULL,                 -- 1 the first time through the rows of the piece, 2 the second …
    row INTEGER NOT NULL,                  -- 0 the cast-on, then the rows from 1; one more than there are is the end
    stitch INTEGER NOT NULL,               -- which operation of the row comes next, from 0
    at INTEGER NOT NULL,
    state INTEGER NOT NULL,                -- 1 made, 2 undone, 3 cut off: undone and then overtaken by another move
    PRIMARY KEY (project, number)
) STRICT, WITHOUT ROWID;

-- What undo and redo would take next, and the last move in each piece.
CREATE INDEX move_by_state ON move (project, state, piece, number);

INSERT INTO move (project, number, piece, time, row, stitch, at, state)
SELECT project, 1, piece, 1, row, stitch, 0, 1 FROM place;

DROP TABLE place;
DROP TABLE worked;
