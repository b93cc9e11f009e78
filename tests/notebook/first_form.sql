-- A notebook as the first server wrote it (commit d7db160, form 0001), dumped; its key is the-key-of-the-first-form.
BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL,
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE answered (
	shop VARCHAR(40) NOT NULL,
	"key" VARCHAR(255) NOT NULL,
	digest VARCHAR(64) NOT NULL,
	address VARCHAR(300) NOT NULL,
	made_at BIGINT NOT NULL,
	body TEXT NOT NULL,
	CONSTRAINT pk_answered PRIMARY KEY (shop, "key"),
	CONSTRAINT fk_answered_shop FOREIGN KEY(shop) REFERENCES shops (id) ON DELETE CASCADE
);
CREATE TABLE dough_lots (
	dough INTEGER NOT NULL,
	material VARCHAR(100) NOT NULL,
	lot VARCHAR(100) NOT NULL,
	CONSTRAINT pk_dough_lots PRIMARY KEY (dough, material),
	CONSTRAINT fk_dough_lots_dough FOREIGN KEY(dough) REFERENCES doughs (place) ON DELETE CASCADE
);
INSERT INTO "dough_lots" VALUES(1,'betaine-30','B-1');
INSERT INTO "dough_lots" VALUES(2,'betaine-30','B-1');
INSERT INTO "dough_lots" VALUES(3,'betaine-30','B-1');
INSERT INTO "dough_lots" VALUES(4,'betaine-30','B-1');
INSERT INTO "dough_lots" VALUES(5,'betaine-30','B-1');
CREATE TABLE doughs (
	place INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
	shop VARCHAR(40) NOT NULL,
	id VARCHAR(64) NOT NULL,
	tag VARCHAR(40) NOT NULL,
	body TEXT NOT NULL,
	CONSTRAINT fk_doughs_shop FOREIGN KEY(shop) REFERENCES shops (id) ON DELETE CASCADE,
	CONSTRAINT uq_doughs_shop UNIQUE (shop, id)
);
INSERT INTO "doughs" VALUES(1,'local','31371cae-f855-4ed0-aff7-0c43190bbf24','e7ee3c7d993c335ebfe23c0d9e01830d','{"id":"31371cae-f855-4ed0-aff7-0c43190bbf24","recipe":{"name":"Mill","lines":[{"material":"isethionate-powder","percent":46.0},{"material":"my-rye","percent":16.0},{"material":"tapioca-starch","percent":8.0},{"material":"betaine-30","percent":24.0},{"material":"glycerin","percent":5.0},{"material":"phenoxyethanol-blend","percent":1.0}]},"report":{"feel":"too_wet"},"made_on":"2026-11-10","lots":{"betaine-30":"B-1"},"batch_grams":500.0,"room_c":21.0}');
INSERT INTO "doughs" VALUES(2,'local','c517e914-47c2-4176-b89e-a2d1b1e9f946','479b77c2e2eb7914ad5e45fe2af3bed7','{"id":"c517e914-47c2-4176-b89e-a2d1b1e9f946","recipe":{"name":"Mill","lines":[{"material":"isethionate-powder","percent":48.0},{"material":"my-rye","percent":16.0},{"material":"tapioca-starch","percent":8.0},{"material":"betaine-30","percent":22.0},{"material":"glycerin","percent":5.0},{"material":"phenoxyethanol-blend","percent":1.0}]},"report":{"feel":"workable"},"made_on":"2026-11-11","lots":{"betaine-30":"B-1"},"batch_grams":500.0,"room_c":21.0,"drying":[{"hours":0.0,"grams":100.0},{"hours":72.0,"grams":97.0},{"hours":240.0,"grams":95.1}],"bars":5,"batch":"41","made_by":"Ada","notes":"first good one"}');
INSERT INTO "doughs" VALUES(3,'local','c006d145-8fe3-41ec-b41f-b229afdca13b','baa1bec98ca9b6b20f8a0c0ccc9b2d15','{"id":"c006d145-8fe3-41ec-b41f-b229afdca13b","recipe":{"name":"Mill","lines":[{"material":"isethionate-powder","percent":50.0},{"material":"my-rye","percent":16.0},{"material":"tapioca-starch","percent":8.0},{"material":"betaine-30","percent":20.0},{"material":"glycerin","percent":5.0},{"material":"phenoxyethanol-blend","percent":1.0}]},"report":{"feel":"too_dry"},"made_on":"2026-11-12","lots":{"betaine-30":"B-1"},"batch_grams":500.0,"room_c":21.0}');
INSERT INTO "doughs" VALUES(4,'local','406200bc-3135-47a4-bef7-9c64e27194e0','35e81a0fac2d71563d6f01882f2042c7','{"id":"406200bc-3135-47a4-bef7-9c64e27194e0","recipe":{"name":"Mill","lines":[{"material":"isethionate-powder","percent":52.0},{"material":"my-rye","percent":16.0},{"material":"tapioca-starch","percent":8.0},{"material":"betaine-30","percent":18.0},{"material":"glycerin","percent":5.0},{"material":"phenoxyethanol-blend","percent":1.0}]},"report":{"feel":"workable"},"made_on":"2026-11-13","lots":{"betaine-30":"B-1"},"batch_grams":500.0,"room_c":21.0}');
INSERT INTO "doughs" VALUES(5,'local','53c588dd-b7d7-44b7-b12f-05fba30284bd','96771159354420a556c0e5628d415188','{"id":"53c588dd-b7d7-44b7-b12f-05fba30284bd","recipe":{"name":"Mill","lines":[{"material":"isethionate-powder","percent":54.0},{"material":"my-rye","percent":16.0},{"material":"tapioca-starch","percent":8.0},{"material":"betaine-30","percent":16.0},{"material":"glycerin","percent":5.0},{"material":"phenoxyethanol-blend","percent":1.0}]},"report":{"feel":"too_wet"},"made_on":"2026-11-14","lots":{"betaine-30":"B-1"},"batch_grams":500.0,"room_c":21.0,"added":[{"material":"tapioca-starch","grams":10.0}],"outcome":"workable"}');
CREATE TABLE keys (
	id VARCHAR(40) NOT NULL,
	shop VARCHAR(40) NOT NULL,
	digest VARCHAR(64) NOT NULL,
	label VARCHAR(200) NOT NULL,
	made_at BIGINT NOT NULL,
	revoked_at BIGINT,
	CONSTRAINT pk_keys PRIMARY KEY (id),
	CONSTRAINT fk_keys_shop FOREIGN KEY(shop) REFERENCES shops (id) ON DELETE CASCADE,
	CONSTRAINT uq_keys_digest UNIQUE (digest)
);
INSERT INTO "keys" VALUES('43d152555ba4fa22','local','6bf74c4ca3638b718164da42a27db0a8f461932fe213986d2d7d16a8d24721d8','house',1795963975,NULL);
CREATE TABLE links (
	digest VARCHAR(64) NOT NULL,
	shop VARCHAR(40) NOT NULL,
	expires_at BIGINT NOT NULL,
	CONSTRAINT pk_links PRIMARY KEY (digest),
	CONSTRAINT fk_links_shop FOREIGN KEY(shop) REFERENCES shops (id) ON DELETE CASCADE
);
CREATE TABLE lots (
	shop VARCHAR(40) NOT NULL,
	material VARCHAR(100) NOT NULL,
	lot VARCHAR(100) NOT NULL,
	body TEXT NOT NULL,
	CONSTRAINT pk_lots PRIMARY KEY (shop, material, lot),
	CONSTRAINT fk_lots_shop FOREIGN KEY(shop) REFERENCES shops (id) ON DELETE CASCADE
);
INSERT INTO "lots" VALUES('local','betaine-30','B-1','{"active":31.2,"price_per_kg":4.2,"received":"2026-10-01","expires":"2027-10-01","stock_grams":2400.0}');
CREATE TABLE materials (
	shop VARCHAR(40) NOT NULL,
	"key" VARCHAR(100) NOT NULL,
	body TEXT NOT NULL,
	CONSTRAINT pk_materials PRIMARY KEY (shop, "key"),
	CONSTRAINT fk_materials_shop FOREIGN KEY(shop) REFERENCES shops (id) ON DELETE CASCADE
);
INSERT INTO "materials" VALUES('local','my-rye','{"key":"my-rye","name":"Rye starch","form":"powder","roles":["filler"],"composition":{"Secale Cereale Starch":100.0},"charge":"none","also":[],"active":0.0,"water":12.0,"uptake":0.4,"hazards":[],"allergens":[],"incompatible_with":[]}');
CREATE TABLE shops (
	id VARCHAR(40) NOT NULL,
	name VARCHAR(200) NOT NULL,
	changes BIGINT NOT NULL,
	CONSTRAINT pk_shops PRIMARY KEY (id)
);
INSERT INTO "shops" VALUES('local','',9);
CREATE TABLE uptake_tests (
	shop VARCHAR(40) NOT NULL,
	material VARCHAR(100) NOT NULL,
	body TEXT NOT NULL,
	CONSTRAINT pk_uptake_tests PRIMARY KEY (shop, material),
	CONSTRAINT fk_uptake_tests_shop FOREIGN KEY(shop) REFERENCES shops (id) ON DELETE CASCADE
);
INSERT INTO "uptake_tests" VALUES('local','my-rye','{"material":"my-rye","liquid":"water","powder_grams":20.0,"step_grams":0.2,"repeats":[{"first_ball":7.0,"smooth":8.4,"sticks":9.6},{"smooth":8.0}]}');
CREATE INDEX ix_answered_made_at ON answered (made_at);
CREATE INDEX ix_doughs_shop_place ON doughs (shop, place);
CREATE INDEX ix_dough_lots_material ON dough_lots (material, lot);
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('doughs',5);
COMMIT;
