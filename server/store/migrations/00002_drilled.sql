-- +goose Up
CREATE TABLE drilled (
    project_id INTEGER NOT NULL REFERENCES projects (id),
    hole       TEXT NOT NULL, -- where it is in the metal
    PRIMARY KEY (project_id, hole)
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE drilled;
