-- +goose Up
CREATE TABLE projects (
    id         INTEGER PRIMARY KEY,
    edit_hash  BLOB NOT NULL UNIQUE,
    view_hash  BLOB NOT NULL UNIQUE,
    file_name  TEXT NOT NULL,
    tune       BLOB NOT NULL,
    setup      BLOB NOT NULL,
    created_at TEXT NOT NULL DEFAULT CURRENT_TIMESTAMP
) STRICT;

CREATE TABLE decisions (
    project_id  INTEGER NOT NULL REFERENCES projects (id),
    revision    INTEGER NOT NULL CHECK (revision > 0),
    decision    BLOB NOT NULL,
    accepted_at TEXT NOT NULL DEFAULT CURRENT_TIMESTAMP,
    PRIMARY KEY (project_id, revision)
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE decisions;
DROP TABLE projects;
