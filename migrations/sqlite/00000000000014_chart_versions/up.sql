-- The formats a film is made in, split by blanks; empty where nobody noted them.
ALTER TABLE films ADD COLUMN formats TEXT NOT NULL DEFAULT '';

-- A row is a developer at one dilution; rows of one product share its bottle.
ALTER TABLE developers ADD COLUMN product TEXT NOT NULL DEFAULT '';
ALTER TABLE developers ADD COLUMN handling TEXT NOT NULL DEFAULT 'one_shot'
    CHECK (handling IN ('one_shot', 'used_again', 'replenished'));
-- How its time grows with use; typed from the maker's sheet, no default anywhere.
ALTER TABLE developers ADD COLUMN growth_percent_milli INTEGER
    CHECK (growth_percent_milli BETWEEN 0 AND 100000);
ALTER TABLE developers ADD COLUMN growth_every_milli INTEGER CHECK (growth_every_milli > 0);
ALTER TABLE developers ADD COLUMN growth_counted TEXT
    CHECK (growth_counted IN ('whole_steps', 'in_proportion'));
ALTER TABLE developers ADD COLUMN growth_on TEXT CHECK (growth_on IN ('first_time', 'last_time'));
ALTER TABLE developers ADD COLUMN takes_milli INTEGER CHECK (takes_milli > 0);
ALTER TABLE developers ADD COLUMN on_hand INTEGER NOT NULL DEFAULT 1 CHECK (on_hand IN (0, 1));
ALTER TABLE developers ADD COLUMN version INTEGER NOT NULL DEFAULT 1;
UPDATE developers SET product = name;

-- A row is one version of a recipe; versions of one recipe share its line.
ALTER TABLE recipes ADD COLUMN line_id INTEGER NOT NULL DEFAULT 0;
ALTER TABLE recipes ADD COLUMN number INTEGER NOT NULL DEFAULT 1 CHECK (number >= 1);
ALTER TABLE recipes ADD COLUMN state TEXT NOT NULL DEFAULT 'approved'
    CHECK (state IN ('proposed', 'approved', 'replaced', 'declined', 'withdrawn'));
ALTER TABLE recipes ADD COLUMN contrast TEXT NOT NULL DEFAULT '';
ALTER TABLE recipes ADD COLUMN why TEXT NOT NULL DEFAULT '';
ALTER TABLE recipes ADD COLUMN decided_by INTEGER REFERENCES members (id);
ALTER TABLE recipes ADD COLUMN decided_s INTEGER;
UPDATE recipes SET line_id = id;
-- Of two alike the one entered last stays on the chart.
UPDATE recipes SET state = 'replaced' WHERE EXISTS (
    SELECT 1 FROM recipes AS later WHERE later.film_id = recipes.film_id AND later.ei = recipes.ei
        AND later.developer_id = recipes.developer_id
        AND later.temperature_mc = recipes.temperature_mc
        AND later.agitation = recipes.agitation AND later.id > recipes.id);
DROP INDEX recipes_of_film;
CREATE INDEX recipes_of_film ON recipes (film_id, state, ei, id);
CREATE INDEX recipes_of_developer ON recipes (developer_id, state);
CREATE UNIQUE INDEX recipes_of_line ON recipes (line_id, number);
CREATE UNIQUE INDEX recipes_one_approved ON recipes (line_id) WHERE state = 'approved';
CREATE UNIQUE INDEX recipes_one_of_a_kind ON recipes
    (film_id, ei, developer_id, temperature_mc, agitation, contrast) WHERE state = 'approved';
CREATE INDEX recipes_proposed ON recipes (entered_s) WHERE state = 'proposed';

CREATE TABLE recipe_times (
    recipe_id INTEGER NOT NULL REFERENCES recipes (id),
    temperature_mc INTEGER NOT NULL,
    time_s INTEGER NOT NULL CHECK (time_s BETWEEN 1 AND 86400),
    PRIMARY KEY (recipe_id, temperature_mc)
) STRICT;

-- A file of recipes that was read through and waits to be taken in.
CREATE TABLE chart_files (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES members (id),
    body TEXT NOT NULL,
    made_s INTEGER NOT NULL
) STRICT;
