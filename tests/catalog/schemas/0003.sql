BEGIN TRANSACTION;
CREATE TABLE bead (
	material_id INTEGER NOT NULL, 
	diameter_m FLOAT NOT NULL, 
	metal VARCHAR(20) NOT NULL, 
	bore VARCHAR(20) NOT NULL, 
	bore_diameter_m FLOAT, 
	mouth_diameter_m FLOAT, 
	mouth_depth_m FLOAT, 
	slot_width_m FLOAT, 
	mass_kg FLOAT, 
	mass_u_kg FLOAT, 
	weighed_kg FLOAT, 
	weighed_u_kg FLOAT, 
	CONSTRAINT pk_bead PRIMARY KEY (material_id), 
	CONSTRAINT ck_bead_diameter_m CHECK (diameter_m IS NULL OR (diameter_m > 0 AND diameter_m < 1e12)), 
	CONSTRAINT ck_bead_bore_diameter_m CHECK (bore_diameter_m IS NULL OR (bore_diameter_m > 0 AND bore_diameter_m < 1e12)), 
	CONSTRAINT ck_bead_mouth_diameter_m CHECK (mouth_diameter_m IS NULL OR (mouth_diameter_m > 0 AND mouth_diameter_m < 1e12)), 
	CONSTRAINT ck_bead_mouth_depth_m CHECK (mouth_depth_m IS NULL OR (mouth_depth_m > 0 AND mouth_depth_m < 1e12)), 
	CONSTRAINT ck_bead_slot_width_m CHECK (slot_width_m IS NULL OR (slot_width_m > 0 AND slot_width_m < 1e12)), 
	CONSTRAINT ck_bead_mass_kg CHECK (mass_kg IS NULL OR (mass_kg > 0 AND mass_kg < 1e12)), 
	CONSTRAINT ck_bead_weighed_kg CHECK (weighed_kg IS NULL OR (weighed_kg > 0 AND weighed_kg < 1e12)), 
	CONSTRAINT ck_bead_mass_u_kg CHECK (mass_u_kg IS NULL OR (mass_u_kg >= 0 AND mass_u_kg < 1e12)), 
	CONSTRAINT ck_bead_weighed_u_kg CHECK (weighed_u_kg IS NULL OR (weighed_u_kg >= 0 AND weighed_u_kg < 1e12)), 
	CONSTRAINT fk_bead_material_id FOREIGN KEY(material_id) REFERENCES material (id) ON DELETE CASCADE, 
	CONSTRAINT ck_bead_metal CHECK (metal IN ('tungsten', 'brass', 'copper', 'steel', 'tin', 'lead', 'glass')), 
	CONSTRAINT ck_bead_bore CHECK (bore IN ('straight', 'countersunk', 'slotted', 'reversed'))
);
INSERT INTO "bead" VALUES(2,0.0028,'tungsten','slotted',NULL,NULL,NULL,0.001,NULL,NULL,NULL,NULL);
CREATE TABLE bench_run (
	id INTEGER NOT NULL, 
	fly_id INTEGER NOT NULL, 
	clip_name VARCHAR(200) NOT NULL, 
	clip_sha256 VARCHAR(64) NOT NULL, 
	set_up VARCHAR(200), 
	filmed_on DATE, 
	measured_at DATETIME NOT NULL, 
	software VARCHAR(40) NOT NULL, 
	verdict VARCHAR(20) NOT NULL, 
	accepted BOOLEAN NOT NULL, 
	set_aside_why TEXT NOT NULL, 
	sink_speed_m_s FLOAT, 
	uncertainty_m_s FLOAT, 
	free_speed_m_s FLOAT, 
	free_uncertainty_m_s FLOAT, 
	shared_uncertainty_m_s FLOAT, 
	temperature_k FLOAT NOT NULL, 
	drops_used INTEGER NOT NULL, 
	flags JSON NOT NULL, 
	sheet JSON NOT NULL, 
	result JSON NOT NULL, 
	track BLOB NOT NULL, 
	track_sha256 VARCHAR(64) NOT NULL, 
	CONSTRAINT pk_bench_run PRIMARY KEY (id), 
	CONSTRAINT uq_bench_run_fly_id UNIQUE (fly_id, track_sha256), 
	CONSTRAINT ck_bench_run_set_aside CHECK (accepted OR set_aside_why <> ''), 
	CONSTRAINT ck_bench_run_sink_speed_m_s CHECK (sink_speed_m_s IS NULL OR (sink_speed_m_s > 0 AND sink_speed_m_s < 1e12)), 
	CONSTRAINT ck_bench_run_uncertainty_m_s CHECK (uncertainty_m_s IS NULL OR (uncertainty_m_s > 0 AND uncertainty_m_s < 1e12)), 
	CONSTRAINT ck_bench_run_free_speed_m_s CHECK (free_speed_m_s IS NULL OR (free_speed_m_s > 0 AND free_speed_m_s < 1e12)), 
	CONSTRAINT ck_bench_run_free_uncertainty_m_s CHECK (free_uncertainty_m_s IS NULL OR (free_uncertainty_m_s > 0 AND free_uncertainty_m_s < 1e12)), 
	CONSTRAINT ck_bench_run_speed CHECK ((sink_speed_m_s IS NULL) = (verdict = 'refused')), 
	CONSTRAINT fk_bench_run_fly_id FOREIGN KEY(fly_id) REFERENCES fly (id) ON DELETE RESTRICT, 
	CONSTRAINT ck_bench_run_verdict CHECK (verdict IN ('good', 'usable', 'refused'))
);
INSERT INTO "bench_run" VALUES(1,1,'f-1.mp4','0000000000000000000000000000000000000000000000000000000000000000',NULL,NULL,'2030-01-31 12:00:00.000000','0.1.0','good',1,'',0.301,0.002,0.304,0.003,NULL,291.15,1,'["wall-near"]','{"water": {"temperature": "18 degC"}}','{"verdict": "good"}',X'0102696E76656E74656420747261636B','090a6c3d9e3f007c86eee1c46d8a92b18e4f89ec830dee7e23d2df9a1dee2b2e');
CREATE TABLE change_set (
	id INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	who VARCHAR(200) NOT NULL, 
	command VARCHAR(200) NOT NULL, 
	undone_by_id INTEGER, 
	CONSTRAINT pk_change_set PRIMARY KEY (id), 
	CONSTRAINT fk_change_set_undone_by_id FOREIGN KEY(undone_by_id) REFERENCES change_set (id) ON DELETE SET NULL
);
INSERT INTO "change_set" VALUES(1,'2026-11-27 21:00:58.167644','root','library',NULL);
CREATE TABLE counted_run (
	run_id INTEGER NOT NULL, 
	fly_id INTEGER NOT NULL, 
	speed_m_s FLOAT NOT NULL, 
	temperature_k FLOAT NOT NULL, 
	salinity FLOAT NOT NULL, 
	drops INTEGER NOT NULL, 
	own FLOAT NOT NULL, 
	shares JSON NOT NULL, 
	clip VARCHAR(64) NOT NULL, 
	correction FLOAT NOT NULL, 
	correction_doubt FLOAT NOT NULL, 
	brought_to_k FLOAT, 
	CONSTRAINT pk_counted_run PRIMARY KEY (run_id), 
	CONSTRAINT fk_counted_run_run_id FOREIGN KEY(run_id) REFERENCES bench_run (id) ON DELETE CASCADE, 
	CONSTRAINT fk_counted_run_fly_id FOREIGN KEY(fly_id) REFERENCES fly (id) ON DELETE CASCADE
);
INSERT INTO "counted_run" VALUES(1,1,0.304,291.15,0.0,1,0.005,'[["fly", "", 0.0099]]','0000000000000000000000000000000000000000000000000000000000000000',1.0,0.0,NULL);
CREATE TABLE fly (
	id INTEGER NOT NULL, 
	code VARCHAR(40) NOT NULL, 
	variant_id INTEGER NOT NULL, 
	tied_on DATE, 
	mass_kg FLOAT, 
	mass_u_kg FLOAT, 
	mass_in_water_kg FLOAT, 
	mass_in_water_u_kg FLOAT, 
	length_m FLOAT, 
	retired_on DATE, 
	notes TEXT NOT NULL, 
	CONSTRAINT pk_fly PRIMARY KEY (id), 
	CONSTRAINT ck_fly_mass_kg CHECK (mass_kg IS NULL OR (mass_kg > 0 AND mass_kg < 1e12)), 
	CONSTRAINT ck_fly_mass_in_water_kg CHECK (mass_in_water_kg IS NULL OR (mass_in_water_kg > 0 AND mass_in_water_kg < 1e12)), 
	CONSTRAINT ck_fly_length_m CHECK (length_m IS NULL OR (length_m > 0 AND length_m < 1e12)), 
	CONSTRAINT ck_fly_mass_u_kg CHECK (mass_u_kg IS NULL OR (mass_u_kg >= 0 AND mass_u_kg < 1e12)), 
	CONSTRAINT ck_fly_mass_in_water_u_kg CHECK (mass_in_water_u_kg IS NULL OR (mass_in_water_u_kg >= 0 AND mass_in_water_u_kg < 1e12)), 
	CONSTRAINT ck_fly_floats CHECK (mass_kg IS NULL OR mass_in_water_kg IS NULL OR mass_in_water_kg < mass_kg), 
	CONSTRAINT ck_fly_retired CHECK (retired_on IS NULL OR tied_on IS NULL OR retired_on >= tied_on), 
	CONSTRAINT uq_fly_code UNIQUE (code), 
	CONSTRAINT fk_fly_variant_id FOREIGN KEY(variant_id) REFERENCES variant (id) ON DELETE RESTRICT
);
INSERT INTO "fly" VALUES(1,'f-1',1,'2030-01-30',0.00021,1.0e-06,NULL,NULL,NULL,NULL,'');
CREATE TABLE fly_movement (
	id INTEGER NOT NULL, 
	variant_id INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	amount INTEGER NOT NULL, 
	why VARCHAR(20) NOT NULL, 
	note VARCHAR(200) NOT NULL, 
	price NUMERIC(12, 2), 
	currency VARCHAR(20), 
	tax_percent NUMERIC(9, 6), 
	supplier VARCHAR(200), 
	CONSTRAINT pk_fly_movement PRIMARY KEY (id), 
	CONSTRAINT ck_fly_movement_amount CHECK (amount <> 0 AND abs(amount) <= 1000000), 
	CONSTRAINT ck_fly_movement_price CHECK (price IS NULL OR (price >= 0 AND price < 1e12)), 
	CONSTRAINT fk_fly_movement_variant_id FOREIGN KEY(variant_id) REFERENCES variant (id) ON DELETE RESTRICT, 
	CONSTRAINT ck_fly_movement_why CHECK (why IN ('tied', 'bought', 'used', 'sold', 'given', 'lost', 'returned', 'counted'))
);
INSERT INTO "fly_movement" VALUES(1,1,'2030-01-31 12:00:00.000000',6,'tied','',NULL,NULL,NULL,NULL);
CREATE TABLE fly_speed (
	fly_id INTEGER NOT NULL, 
	free_speed_m_s FLOAT NOT NULL, 
	free_uncertainty_m_s FLOAT NOT NULL, 
	temperature_k FLOAT NOT NULL, 
	runs INTEGER NOT NULL, 
	drops INTEGER NOT NULL, 
	brought BOOLEAN, 
	side BLOB, 
	steeper JSON, 
	CONSTRAINT pk_fly_speed PRIMARY KEY (fly_id), 
	CONSTRAINT ck_fly_speed_free_speed_m_s CHECK (free_speed_m_s IS NULL OR (free_speed_m_s > 0 AND free_speed_m_s < 1e12)), 
	CONSTRAINT ck_fly_speed_free_uncertainty_m_s CHECK (free_uncertainty_m_s IS NULL OR (free_uncertainty_m_s > 0 AND free_uncertainty_m_s < 1e12)), 
	CONSTRAINT fk_fly_speed_fly_id FOREIGN KEY(fly_id) REFERENCES fly (id) ON DELETE CASCADE
);
INSERT INTO "fly_speed" VALUES(1,0.304,0.003,291.15,1,1,NULL,NULL,NULL);
CREATE TABLE flybench_revision (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT flybench_revision_pkc PRIMARY KEY (version_num)
);
INSERT INTO "flybench_revision" VALUES('0003');
CREATE TABLE hook (
	material_id INTEGER NOT NULL, 
	size INTEGER NOT NULL, 
	gape_m FLOAT, 
	shank_m FLOAT, 
	wire_diameter_m FLOAT, 
	mass_kg FLOAT, 
	CONSTRAINT pk_hook PRIMARY KEY (material_id), 
	CONSTRAINT ck_hook_gape_m CHECK (gape_m IS NULL OR (gape_m > 0 AND gape_m < 1e12)), 
	CONSTRAINT ck_hook_shank_m CHECK (shank_m IS NULL OR (shank_m > 0 AND shank_m < 1e12)), 
	CONSTRAINT ck_hook_wire_diameter_m CHECK (wire_diameter_m IS NULL OR (wire_diameter_m > 0 AND wire_diameter_m < 1e12)), 
	CONSTRAINT ck_hook_mass_kg CHECK (mass_kg IS NULL OR (mass_kg > 0 AND mass_kg < 1e12)), 
	CONSTRAINT ck_hook_size CHECK (size BETWEEN 1 AND 32), 
	CONSTRAINT fk_hook_material_id FOREIGN KEY(material_id) REFERENCES material (id) ON DELETE CASCADE
);
INSERT INTO "hook" VALUES(1,12,0.0051,NULL,0.0006,NULL);
CREATE TABLE material (
	id INTEGER NOT NULL, 
	code VARCHAR(40) NOT NULL, 
	kind VARCHAR(20) NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	size VARCHAR(200), 
	colour VARCHAR(200), 
	density_kg_m3 FLOAT, 
	diameter_m FLOAT, 
	unit VARCHAR(20) NOT NULL, 
	pack_amount FLOAT, 
	pack_price NUMERIC(12, 2), 
	supplier VARCHAR(200), 
	bin VARCHAR(200), 
	reorder_level FLOAT, 
	notes TEXT NOT NULL, 
	retired_on DATE, 
	CONSTRAINT pk_material PRIMARY KEY (id), 
	CONSTRAINT ck_material_density_kg_m3 CHECK (density_kg_m3 IS NULL OR (density_kg_m3 > 0 AND density_kg_m3 < 1e12)), 
	CONSTRAINT ck_material_diameter_m CHECK (diameter_m IS NULL OR (diameter_m > 0 AND diameter_m < 1e12)), 
	CONSTRAINT ck_material_pack_amount CHECK (pack_amount IS NULL OR (pack_amount > 0 AND pack_amount < 1e12)), 
	CONSTRAINT ck_material_pack_price CHECK (pack_price IS NULL OR (pack_price >= 0 AND pack_price < 1e12)), 
	CONSTRAINT ck_material_reorder_level CHECK (reorder_level IS NULL OR (reorder_level >= 0 AND reorder_level < 1e12)), 
	CONSTRAINT ck_material_pack_price_together CHECK ((pack_price IS NULL AND pack_amount IS NULL) OR (pack_price IS NOT NULL AND pack_amount IS NOT NULL)), 
	CONSTRAINT uq_material_code UNIQUE (code), 
	CONSTRAINT ck_material_materialkind CHECK (kind IN ('hook', 'bead', 'thread', 'body', 'rib', 'wing', 'hackle', 'tail', 'wire', 'resin', 'ballast')), 
	CONSTRAINT ck_material_unit CHECK (unit IN ('piece', 'turn', 'mm', 'g', 'mg', 'drop'))
);
INSERT INTO "material" VALUES(1,'hk-12','hook','Invented jig hook','12',NULL,NULL,NULL,'piece',NULL,NULL,NULL,NULL,NULL,'',NULL);
INSERT INTO "material" VALUES(2,'bd-28','bead','Invented bead',NULL,'Ä-grün',NULL,NULL,'piece',NULL,NULL,NULL,NULL,NULL,'',NULL);
INSERT INTO "material" VALUES(3,'wool','body','Invented wool',NULL,NULL,NULL,NULL,'g',5.0,3.5,NULL,NULL,NULL,'',NULL);
CREATE TABLE material_movement (
	id INTEGER NOT NULL, 
	material_id INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	amount FLOAT NOT NULL, 
	why VARCHAR(20) NOT NULL, 
	note VARCHAR(200) NOT NULL, 
	paid NUMERIC(12, 2), 
	currency VARCHAR(20), 
	supplier VARCHAR(200), 
	CONSTRAINT pk_material_movement PRIMARY KEY (id), 
	CONSTRAINT ck_material_movement_amount CHECK (amount <> 0 AND amount > -1e12 AND amount < 1e12), 
	CONSTRAINT ck_material_movement_paid CHECK (paid IS NULL OR (paid >= 0 AND paid < 1e12)), 
	CONSTRAINT fk_material_movement_material_id FOREIGN KEY(material_id) REFERENCES material (id) ON DELETE RESTRICT, 
	CONSTRAINT ck_material_movement_why CHECK (why IN ('tied', 'bought', 'used', 'sold', 'given', 'lost', 'returned', 'counted'))
);
INSERT INTO "material_movement" VALUES(1,3,'2030-01-31 12:00:00.000000',5.0,'bought','first',NULL,NULL,NULL);
CREATE TABLE pattern (
	id INTEGER NOT NULL, 
	code VARCHAR(40) NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	style VARCHAR(20) NOT NULL, 
	notes TEXT NOT NULL, 
	retired_on DATE, 
	CONSTRAINT pk_pattern PRIMARY KEY (id), 
	CONSTRAINT uq_pattern_code UNIQUE (code), 
	CONSTRAINT ck_pattern_style CHECK (style IN ('slick', 'ribbed', 'dubbed', 'hackled', 'soft', 'bulky'))
);
INSERT INTO "pattern" VALUES(1,'moss-test','Moss Test','dubbed','invented',NULL);
CREATE TABLE photo (
	id INTEGER NOT NULL, 
	pattern_id INTEGER, 
	variant_id INTEGER, 
	fly_id INTEGER, 
	position INTEGER NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	caption VARCHAR(200) NOT NULL, 
	sha256 VARCHAR(64) NOT NULL, 
	CONSTRAINT pk_photo PRIMARY KEY (id), 
	CONSTRAINT uq_photo_pattern_id UNIQUE (pattern_id, name), 
	CONSTRAINT uq_photo_variant_id UNIQUE (variant_id, name), 
	CONSTRAINT uq_photo_fly_id UNIQUE (fly_id, name), 
	CONSTRAINT ck_photo_of_one_thing CHECK (CASE WHEN pattern_id IS NULL THEN 0 ELSE 1 END + CASE WHEN variant_id IS NULL THEN 0 ELSE 1 END + CASE WHEN fly_id IS NULL THEN 0 ELSE 1 END = 1), 
	CONSTRAINT fk_photo_pattern_id FOREIGN KEY(pattern_id) REFERENCES pattern (id) ON DELETE CASCADE, 
	CONSTRAINT fk_photo_variant_id FOREIGN KEY(variant_id) REFERENCES variant (id) ON DELETE CASCADE, 
	CONSTRAINT fk_photo_fly_id FOREIGN KEY(fly_id) REFERENCES fly (id) ON DELETE CASCADE, 
	CONSTRAINT fk_photo_sha256 FOREIGN KEY(sha256) REFERENCES picture (sha256) ON DELETE RESTRICT
);
INSERT INTO "photo" VALUES(1,1,NULL,NULL,1,'front.jpg','','06877c585661336b003410d3e8041bc281afa79fb8c6b5c43c7bcabfb475b934');
CREATE TABLE picture (
	sha256 VARCHAR(64) NOT NULL, 
	media_type VARCHAR(40) NOT NULL, 
	width INTEGER, 
	height INTEGER, 
	content BLOB NOT NULL, 
	CONSTRAINT pk_picture PRIMARY KEY (sha256), 
	CONSTRAINT ck_picture_width CHECK (width IS NULL OR (width > 0 AND width < 1e12)), 
	CONSTRAINT ck_picture_height CHECK (height IS NULL OR (height > 0 AND height < 1e12))
);
INSERT INTO "picture" VALUES('06877c585661336b003410d3e8041bc281afa79fb8c6b5c43c7bcabfb475b934','image/jpeg',NULL,NULL,X'00FF696E76656E7465642070696374757265');
CREATE TABLE row_change (
	id INTEGER NOT NULL, 
	change_set_id INTEGER NOT NULL, 
	in_table VARCHAR(40) NOT NULL, 
	row_key VARCHAR(200) NOT NULL, 
	noun VARCHAR(40) NOT NULL, 
	code VARCHAR(40) NOT NULL, 
	action VARCHAR(20) NOT NULL, 
	old JSON, 
	new JSON, 
	CONSTRAINT pk_row_change PRIMARY KEY (id), 
	CONSTRAINT fk_row_change_change_set_id FOREIGN KEY(change_set_id) REFERENCES change_set (id) ON DELETE CASCADE, 
	CONSTRAINT ck_row_change_action CHECK (action IN ('added', 'changed', 'removed'))
);
INSERT INTO "row_change" VALUES(1,1,'material','1','material','hk-12','added',NULL,'{"id": 1, "code": "hk-12", "kind": "hook", "name": "Invented jig hook", "size": "12", "unit": "piece", "notes": ""}');
INSERT INTO "row_change" VALUES(2,1,'material','2','material','bd-28','added',NULL,'{"id": 2, "code": "bd-28", "kind": "bead", "name": "Invented bead", "colour": "\u00c4-gr\u00fcn", "unit": "piece", "notes": ""}');
INSERT INTO "row_change" VALUES(3,1,'material','3','material','wool','added',NULL,'{"id": 3, "code": "wool", "kind": "body", "name": "Invented wool", "unit": "g", "pack_amount": 5.0, "pack_price": "3.50", "notes": ""}');
INSERT INTO "row_change" VALUES(4,1,'setting','currency','setting','currency','added',NULL,'{"key": "currency", "value": "EUR"}');
INSERT INTO "row_change" VALUES(5,1,'bead','2','material','bd-28','added',NULL,'{"material_id": 2, "diameter_m": 0.0028, "metal": "tungsten", "bore": "slotted", "slot_width_m": 0.001}');
INSERT INTO "row_change" VALUES(6,1,'hook','1','material','hk-12','added',NULL,'{"material_id": 1, "size": 12, "gape_m": 0.0051, "wire_diameter_m": 0.0006}');
INSERT INTO "row_change" VALUES(7,1,'material_movement','1','material','wool','added',NULL,'{"id": 1, "material_id": 3, "at": "2030-01-31T12:00:00+00:00", "amount": 5.0, "why": "bought", "note": "first"}');
INSERT INTO "row_change" VALUES(8,1,'pattern','1','pattern','moss-test','added',NULL,'{"id": 1, "code": "moss-test", "name": "Moss Test", "style": "dubbed", "notes": "invented"}');
INSERT INTO "row_change" VALUES(9,1,'step','1','pattern','moss-test','added',NULL,'{"id": 1, "pattern_id": 1, "position": 1, "part": "body", "material_id": 3, "amount": 0.02, "unit": "g", "text": "Dub thinly."}');
INSERT INTO "row_change" VALUES(10,1,'step','2','pattern','moss-test','added',NULL,'{"id": 2, "pattern_id": 1, "position": 2, "part": "finish", "text": "Finish; ''quoted'' text."}');
INSERT INTO "row_change" VALUES(11,1,'variant','1','variant','moss-test-12','added',NULL,'{"id": 1, "code": "moss-test-12", "pattern_id": 1, "hook_id": 1, "bead_id": 2, "price": "2.20", "notes": ""}');
INSERT INTO "row_change" VALUES(12,1,'variant','2','variant','moss-test-12-bare','added',NULL,'{"id": 2, "code": "moss-test-12-bare", "pattern_id": 1, "hook_id": 1, "based_on_id": 1, "notes": ""}');
INSERT INTO "row_change" VALUES(13,1,'fly','1','fly','f-1','added',NULL,'{"id": 1, "code": "f-1", "variant_id": 1, "tied_on": "2030-01-30", "mass_kg": 0.00021, "mass_u_kg": 1e-06, "notes": ""}');
INSERT INTO "row_change" VALUES(14,1,'fly_movement','1','variant','moss-test-12','added',NULL,'{"id": 1, "variant_id": 1, "at": "2030-01-31T12:00:00+00:00", "amount": 6, "why": "tied", "note": ""}');
INSERT INTO "row_change" VALUES(15,1,'variant_change','1','variant','moss-test-12-bare','added',NULL,'{"id": 1, "variant_id": 2, "position": 1, "amount": 0.03}');
INSERT INTO "row_change" VALUES(16,1,'bench_run','1','run','1','added',NULL,'{"id": 1, "fly_id": 1, "clip_name": "f-1.mp4", "clip_sha256": "0000000000000000000000000000000000000000000000000000000000000000", "measured_at": "2030-01-31T12:00:00+00:00", "software": "0.1.0", "verdict": "good", "accepted": true, "set_aside_why": "", "sink_speed_m_s": 0.301, "uncertainty_m_s": 0.002, "free_speed_m_s": 0.304, "free_uncertainty_m_s": 0.003, "temperature_k": 291.15, "drops_used": 1, "flags": ["wall-near"], "sheet": {"water": {"temperature": "18 degC"}}, "track_sha256": "090a6c3d9e3f007c86eee1c46d8a92b18e4f89ec830dee7e23d2df9a1dee2b2e"}');
INSERT INTO "row_change" VALUES(17,1,'photo','1','pattern','moss-test','added',NULL,'{"id": 1, "pattern_id": 1, "position": 1, "name": "front.jpg", "caption": "", "sha256": "06877c585661336b003410d3e8041bc281afa79fb8c6b5c43c7bcabfb475b934"}');
INSERT INTO "row_change" VALUES(18,1,'run_drop','1 1','run','1','added',NULL,'{"run_id": 1, "number": 1, "start_s": 0.5, "end_s": 1.1, "frames_used": 120, "path_tilt_deg": 0.4, "used": true, "flags": []}');
CREATE TABLE run_drop (
	run_id INTEGER NOT NULL, 
	number INTEGER NOT NULL, 
	start_s FLOAT NOT NULL, 
	end_s FLOAT NOT NULL, 
	frames_used INTEGER NOT NULL, 
	sink_speed_m_s FLOAT, 
	uncertainty_m_s FLOAT, 
	fit_uncertainty_m_s FLOAT, 
	start_speed_m_s FLOAT, 
	response_time_s FLOAT, 
	terminal_share FLOAT, 
	path_tilt_deg FLOAT NOT NULL, 
	residual_rms_mm FLOAT, 
	used BOOLEAN NOT NULL, 
	flags JSON NOT NULL, 
	CONSTRAINT pk_run_drop PRIMARY KEY (run_id, number), 
	CONSTRAINT ck_run_drop_times CHECK (end_s >= start_s), 
	CONSTRAINT fk_run_drop_run_id FOREIGN KEY(run_id) REFERENCES bench_run (id) ON DELETE CASCADE
);
INSERT INTO "run_drop" VALUES(1,1,0.5,1.1,120,NULL,NULL,NULL,NULL,NULL,NULL,0.4,NULL,1,'[]');
CREATE TABLE setting (
	"key" VARCHAR(40) NOT NULL, 
	value VARCHAR(200) NOT NULL, 
	CONSTRAINT pk_setting PRIMARY KEY ("key")
);
INSERT INTO "setting" VALUES('currency','EUR');
CREATE TABLE step (
	id INTEGER NOT NULL, 
	pattern_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	part VARCHAR(20) NOT NULL, 
	material_id INTEGER, 
	amount FLOAT, 
	unit VARCHAR(20), 
	text TEXT NOT NULL, 
	CONSTRAINT pk_step PRIMARY KEY (id), 
	CONSTRAINT uq_step_pattern_id UNIQUE (pattern_id, position), 
	CONSTRAINT ck_step_amount CHECK (amount IS NULL OR (amount > 0 AND amount < 1e12)), 
	CONSTRAINT ck_step_amount_together CHECK ((amount IS NULL AND unit IS NULL) OR (amount IS NOT NULL AND unit IS NOT NULL)), 
	CONSTRAINT fk_step_pattern_id FOREIGN KEY(pattern_id) REFERENCES pattern (id) ON DELETE CASCADE, 
	CONSTRAINT ck_step_part CHECK (part IN ('hook', 'bead', 'ballast', 'thread', 'tail', 'body', 'rib', 'wing', 'hackle', 'collar', 'coating', 'finish')), 
	CONSTRAINT fk_step_material_id FOREIGN KEY(material_id) REFERENCES material (id) ON DELETE RESTRICT, 
	CONSTRAINT ck_step_unit CHECK (unit IN ('piece', 'turn', 'mm', 'g', 'mg', 'drop'))
);
INSERT INTO "step" VALUES(1,1,1,'body',3,0.02,'g','Dub thinly.');
INSERT INTO "step" VALUES(2,1,2,'finish',NULL,NULL,NULL,'Finish; ''quoted'' text.');
CREATE TABLE variant (
	id INTEGER NOT NULL, 
	code VARCHAR(40) NOT NULL, 
	pattern_id INTEGER NOT NULL, 
	hook_id INTEGER NOT NULL, 
	bead_id INTEGER, 
	based_on_id INTEGER, 
	price NUMERIC(12, 2), 
	bin VARCHAR(200), 
	reorder_level INTEGER, 
	notes TEXT NOT NULL, 
	retired_on DATE, 
	CONSTRAINT pk_variant PRIMARY KEY (id), 
	CONSTRAINT ck_variant_own_base CHECK (based_on_id IS NULL OR based_on_id <> id), 
	CONSTRAINT ck_variant_price CHECK (price IS NULL OR (price >= 0 AND price < 1e12)), 
	CONSTRAINT ck_variant_reorder_level CHECK (reorder_level IS NULL OR (reorder_level >= 0 AND reorder_level < 1e12)), 
	CONSTRAINT uq_variant_code UNIQUE (code), 
	CONSTRAINT fk_variant_pattern_id FOREIGN KEY(pattern_id) REFERENCES pattern (id) ON DELETE RESTRICT, 
	CONSTRAINT fk_variant_hook_id FOREIGN KEY(hook_id) REFERENCES hook (material_id) ON DELETE RESTRICT, 
	CONSTRAINT fk_variant_bead_id FOREIGN KEY(bead_id) REFERENCES bead (material_id) ON DELETE RESTRICT, 
	CONSTRAINT fk_variant_based_on_id FOREIGN KEY(based_on_id) REFERENCES variant (id) ON DELETE RESTRICT
);
INSERT INTO "variant" VALUES(1,'moss-test-12',1,1,2,NULL,2.2,NULL,NULL,'',NULL);
INSERT INTO "variant" VALUES(2,'moss-test-12-bare',1,1,NULL,1,NULL,NULL,NULL,'',NULL);
CREATE TABLE variant_change (
	id INTEGER NOT NULL, 
	variant_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	material_id INTEGER, 
	amount FLOAT, 
	CONSTRAINT pk_variant_change PRIMARY KEY (id), 
	CONSTRAINT uq_variant_change_variant_id UNIQUE (variant_id, position), 
	CONSTRAINT ck_variant_change_amount CHECK (amount IS NULL OR (amount >= 0 AND amount < 1e12)), 
	CONSTRAINT fk_variant_change_variant_id FOREIGN KEY(variant_id) REFERENCES variant (id) ON DELETE CASCADE, 
	CONSTRAINT fk_variant_change_material_id FOREIGN KEY(material_id) REFERENCES material (id) ON DELETE RESTRICT
);
INSERT INTO "variant_change" VALUES(1,2,1,NULL,0.03);
CREATE TABLE variant_speed (
	variant_id INTEGER NOT NULL, 
	free_speed_m_s FLOAT NOT NULL, 
	free_uncertainty_m_s FLOAT NOT NULL, 
	between_flies_m_s FLOAT, 
	temperature_k FLOAT NOT NULL, 
	flies INTEGER NOT NULL, 
	brought BOOLEAN, 
	side BLOB, 
	rests_on VARCHAR(80), 
	CONSTRAINT pk_variant_speed PRIMARY KEY (variant_id), 
	CONSTRAINT ck_variant_speed_free_speed_m_s CHECK (free_speed_m_s IS NULL OR (free_speed_m_s > 0 AND free_speed_m_s < 1e12)), 
	CONSTRAINT ck_variant_speed_free_uncertainty_m_s CHECK (free_uncertainty_m_s IS NULL OR (free_uncertainty_m_s > 0 AND free_uncertainty_m_s < 1e12)), 
	CONSTRAINT ck_variant_speed_between_flies_m_s CHECK (between_flies_m_s IS NULL OR (between_flies_m_s >= 0 AND between_flies_m_s < 1e12)), 
	CONSTRAINT fk_variant_speed_variant_id FOREIGN KEY(variant_id) REFERENCES variant (id) ON DELETE CASCADE
);
INSERT INTO "variant_speed" VALUES(1,0.304,0.003,NULL,291.15,1,NULL,NULL,NULL);
CREATE INDEX ix_material_kind ON material (kind);
CREATE INDEX ix_pattern_style ON pattern (style);
CREATE INDEX ix_change_set_undone_by_id ON change_set (undone_by_id);
CREATE INDEX ix_hook_size ON hook (size);
CREATE INDEX ix_bead_diameter_m ON bead (diameter_m);
CREATE INDEX ix_material_movement_sum ON material_movement (material_id, amount);
CREATE INDEX ix_step_material_id ON step (material_id);
CREATE INDEX ix_row_change_change_set_id ON row_change (change_set_id);
CREATE INDEX ix_row_change_row ON row_change (in_table, row_key);
CREATE INDEX ix_variant_pattern_id ON variant (pattern_id);
CREATE INDEX ix_variant_based_on_id ON variant (based_on_id);
CREATE INDEX ix_variant_hook_id ON variant (hook_id);
CREATE INDEX ix_variant_bead_id ON variant (bead_id);
CREATE INDEX ix_variant_change_material_id ON variant_change (material_id);
CREATE INDEX ix_fly_movement_sum ON fly_movement (variant_id, amount);
CREATE INDEX ix_fly_variant_id ON fly (variant_id);
CREATE INDEX ix_variant_speed_free ON variant_speed (free_speed_m_s);
CREATE INDEX ix_photo_sha256 ON photo (sha256);
CREATE INDEX ix_bench_run_fly_id ON bench_run (fly_id);
CREATE INDEX ix_bench_run_track_sha256 ON bench_run (track_sha256);
CREATE INDEX ix_bench_run_clip_sha256 ON bench_run (clip_sha256);
CREATE INDEX ix_fly_speed_free ON fly_speed (free_speed_m_s);
CREATE INDEX ix_counted_run_fly_id ON counted_run (fly_id, salinity, temperature_k);
CREATE INDEX ix_counted_run_brought ON counted_run (brought_to_k);
CREATE INDEX ix_counted_run_water ON counted_run (salinity, temperature_k);
COMMIT;
