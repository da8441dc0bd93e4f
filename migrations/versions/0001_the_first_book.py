"""The first book: operations, revisions, devices, kit, trials, walks, shots and their readings.

Written out by hand and never changed again: a book made by this migration must stay readable for ever.
"""

from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

TABLES = (
    """
    CREATE TABLE archer (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        call_name TEXT NOT NULL,
        hand TEXT,
        hold TEXT,
        draw_length_m REAL,
        retired INTEGER,
        PRIMARY KEY (id)) STRICT
    """,
    """
    CREATE TABLE arrow (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        tag TEXT NOT NULL,
        material TEXT,
        profile TEXT,
        diameter_m REAL,
        diameter_nock_m REAL,
        length_m REAL,
        nock TEXT,
        fletching TEXT,
        note TEXT,
        retired INTEGER,
        PRIMARY KEY (id)) STRICT
    """,
    """
    CREATE TABLE book (
        book_id TEXT NOT NULL,
        epoch TEXT NOT NULL,
        demo INTEGER NOT NULL,
        made_at INTEGER NOT NULL,
        address TEXT,
        PRIMARY KEY (book_id)) STRICT
    """,
    """
    CREATE TABLE bow (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        name TEXT NOT NULL,
        sort TEXT,
        marked_weight_n REAL,
        marked_draw_m REAL,
        draw_from TEXT,
        material TEXT,
        maker TEXT,
        length_m REAL,
        note TEXT,
        retired INTEGER,
        PRIMARY KEY (id)) STRICT
    """,
    """
    CREATE TABLE head (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        name TEXT NOT NULL,
        form TEXT,
        section TEXT,
        mass_kg REAL,
        length_m REAL,
        width_m REAL,
        thickness_m REAL,
        tip_to_widest_m REAL,
        tip_flat_m REAL,
        tip_radius_m REAL,
        edge_length_m REAL,
        mount TEXT,
        material TEXT,
        maker TEXT,
        made_after TEXT,
        departures TEXT,
        retired INTEGER,
        PRIMARY KEY (id)) STRICT
    """,
    """
    CREATE TABLE instrument (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        name TEXT NOT NULL,
        sort TEXT,
        maker TEXT,
        resolution_si REAL,
        accuracy_si REAL,
        accuracy_ratio REAL,
        accuracy_means TEXT,
        note TEXT,
        retired INTEGER,
        PRIMARY KEY (id)) STRICT
    """,
    """
    CREATE TABLE panel (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        name TEXT NOT NULL,
        construction TEXT,
        outline TEXT,
        width_m REAL,
        height_m REAL,
        mass_kg REAL,
        material TEXT,
        thickness_m REAL,
        plate_width_m REAL,
        plate_height_m REAL,
        overlap_m REAL,
        rows INTEGER,
        lacing TEXT,
        lace_hole_m REAL,
        rivet_pitch_m REAL,
        ring_outer_m REAL,
        ring_wire_m REAL,
        ring_joint TEXT,
        ring_pattern TEXT,
        cloth TEXT,
        cloth_layers INTEGER,
        quilting_m REAL,
        maker TEXT,
        made_after TEXT,
        departures TEXT,
        retired INTEGER,
        PRIMARY KEY (id)) STRICT
    """,
    """
    CREATE TABLE stand (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        name TEXT NOT NULL,
        held TEXT,
        gap_m REAL,
        hung_mass_kg REAL,
        tilt_rad REAL,
        note TEXT,
        retired INTEGER,
        PRIMARY KEY (id)) STRICT
    """,
    """
    CREATE TABLE trial (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        question TEXT NOT NULL,
        varied TEXT,
        held_fixed TEXT,
        prediction TEXT,
        enough TEXT,
        state TEXT NOT NULL,
        follows_id TEXT,
        through TEXT,
        near_opened_m REAL,
        near_dented_m REAL,
        near_edge_m REAL,
        finger_m REAL,
        spoils TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(follows_id) REFERENCES trial (id)) STRICT
    """,
    """
    CREATE INDEX ix_trial_follows_id ON trial (follows_id)
    """,
    """
    CREATE TABLE arrow_build (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        arrow_id TEXT NOT NULL,
        head_id TEXT,
        number INTEGER NOT NULL,
        work TEXT,
        length_m REAL,
        PRIMARY KEY (id),
        FOREIGN KEY(arrow_id) REFERENCES arrow (id),
        FOREIGN KEY(head_id) REFERENCES head (id)) STRICT
    """,
    """
    CREATE INDEX ix_arrow_build_arrow_id ON arrow_build (arrow_id)
    """,
    """
    CREATE INDEX ix_arrow_build_head_id ON arrow_build (head_id)
    """,
    """
    CREATE TABLE backing_check (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        stand_id TEXT NOT NULL,
        at INTEGER,
        how TEXT,
        found_m REAL,
        temperature_k REAL,
        note TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(stand_id) REFERENCES stand (id)) STRICT
    """,
    """
    CREATE INDEX ix_backing_check_stand_id ON backing_check (stand_id)
    """,
    """
    CREATE TABLE bow_build (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        bow_id TEXT NOT NULL,
        number INTEGER NOT NULL,
        work TEXT,
        string TEXT,
        string_mass_kg REAL,
        brace_height_m REAL,
        PRIMARY KEY (id),
        FOREIGN KEY(bow_id) REFERENCES bow (id)) STRICT
    """,
    """
    CREATE INDEX ix_bow_build_bow_id ON bow_build (bow_id)
    """,
    """
    CREATE TABLE device (
        id TEXT NOT NULL,
        letter TEXT,
        call_name TEXT NOT NULL,
        role TEXT NOT NULL,
        words TEXT,
        session_hash BLOB,
        agent TEXT NOT NULL,
        trial_id TEXT,
        expires_at INTEGER,
        asked_at INTEGER NOT NULL,
        let_in_at INTEGER,
        heard_at INTEGER,
        put_out_at INTEGER,
        put_out_why TEXT,
        PRIMARY KEY (id),
        CONSTRAINT uq_device_letter UNIQUE (letter),
        UNIQUE (session_hash),
        FOREIGN KEY(trial_id) REFERENCES trial (id)) STRICT
    """,
    """
    CREATE TABLE hardness_reading (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        noun TEXT NOT NULL,
        record_id TEXT NOT NULL,
        slides_hrc REAL,
        bites_hrc REAL,
        sticks_hrc REAL,
        value REAL,
        scale TEXT,
        place TEXT,
        instrument_id TEXT,
        at INTEGER,
        left_out_reason TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(instrument_id) REFERENCES instrument (id)) STRICT
    """,
    """
    CREATE INDEX ix_hardness_reading_instrument_id ON hardness_reading (instrument_id)
    """,
    """
    CREATE INDEX ix_hardness_reading_record_id ON hardness_reading (record_id)
    """,
    """
    CREATE TABLE instrument_check (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        instrument_id TEXT NOT NULL,
        at INTEGER,
        against TEXT,
        known TEXT,
        found TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(instrument_id) REFERENCES instrument (id)) STRICT
    """,
    """
    CREATE INDEX ix_instrument_check_instrument_id ON instrument_check (instrument_id)
    """,
    """
    CREATE TABLE panel_build (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        panel_id TEXT NOT NULL,
        number INTEGER NOT NULL,
        work TEXT,
        note TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(panel_id) REFERENCES panel (id)) STRICT
    """,
    """
    CREATE INDEX ix_panel_build_panel_id ON panel_build (panel_id)
    """,
    """
    CREATE TABLE reading (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        noun TEXT NOT NULL,
        record_id TEXT NOT NULL,
        measured TEXT NOT NULL,
        value_si REAL NOT NULL,
        instrument_id TEXT,
        place TEXT,
        at INTEGER,
        left_out_reason TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(instrument_id) REFERENCES instrument (id)) STRICT
    """,
    """
    CREATE INDEX ix_reading_instrument_id ON reading (instrument_id)
    """,
    """
    CREATE INDEX ix_reading_record_id ON reading (record_id)
    """,
    """
    CREATE TABLE session (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        trial_id TEXT NOT NULL,
        day TEXT NOT NULL,
        place TEXT,
        officer TEXT,
        present TEXT,
        temperature_k REAL,
        humidity_ratio REAL,
        pressure_pa REAL,
        weather TEXT,
        note TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(trial_id) REFERENCES trial (id)) STRICT
    """,
    """
    CREATE INDEX ix_session_trial_id ON session (trial_id)
    """,
    """
    CREATE TABLE stand_layer (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        stand_id TEXT NOT NULL,
        place INTEGER NOT NULL,
        role TEXT NOT NULL,
        material TEXT,
        thickness_m REAL,
        PRIMARY KEY (id),
        FOREIGN KEY(stand_id) REFERENCES stand (id)) STRICT
    """,
    """
    CREATE INDEX ix_stand_layer_stand_id ON stand_layer (stand_id)
    """,
    """
    CREATE TABLE trial_uses (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        trial_id TEXT NOT NULL,
        noun TEXT NOT NULL,
        record_id TEXT NOT NULL,
        PRIMARY KEY (id),
        CONSTRAINT uq_trial_uses UNIQUE (trial_id, noun, record_id),
        FOREIGN KEY(trial_id) REFERENCES trial (id)) STRICT
    """,
    """
    CREATE INDEX ix_trial_uses_record_id ON trial_uses (record_id)
    """,
    """
    CREATE INDEX ix_trial_uses_trial_id ON trial_uses (trial_id)
    """,
    """
    CREATE TABLE arrow_check (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        arrow_build_id TEXT NOT NULL,
        sound TEXT NOT NULL,
        at INTEGER,
        note TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(arrow_build_id) REFERENCES arrow_build (id)) STRICT
    """,
    """
    CREATE INDEX ix_arrow_check_arrow_build_id ON arrow_check (arrow_build_id)
    """,
    """
    CREATE TABLE bow_check (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        bow_build_id TEXT NOT NULL,
        archer_id TEXT,
        session_id TEXT,
        part TEXT,
        at INTEGER,
        weight_n REAL,
        draw_m REAL,
        draw_how TEXT,
        temperature_k REAL,
        humidity_ratio REAL,
        arrows_since INTEGER,
        instrument_id TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(bow_build_id) REFERENCES bow_build (id),
        FOREIGN KEY(archer_id) REFERENCES archer (id),
        FOREIGN KEY(session_id) REFERENCES session (id),
        FOREIGN KEY(instrument_id) REFERENCES instrument (id)) STRICT
    """,
    """
    CREATE INDEX ix_bow_check_archer_id ON bow_check (archer_id)
    """,
    """
    CREATE INDEX ix_bow_check_bow_build_id ON bow_check (bow_build_id)
    """,
    """
    CREATE INDEX ix_bow_check_instrument_id ON bow_check (instrument_id)
    """,
    """
    CREATE INDEX ix_bow_check_session_id ON bow_check (session_id)
    """,
    """
    CREATE TABLE caution_tick (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        session_id TEXT NOT NULL,
        caution TEXT NOT NULL,
        at INTEGER,
        PRIMARY KEY (id),
        CONSTRAINT uq_caution_tick UNIQUE (session_id, caution),
        FOREIGN KEY(session_id) REFERENCES session (id)) STRICT
    """,
    """
    CREATE TABLE draw_point (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        bow_build_id TEXT NOT NULL,
        draw_m REAL NOT NULL,
        force_n REAL NOT NULL,
        instrument_id TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(bow_build_id) REFERENCES bow_build (id),
        FOREIGN KEY(instrument_id) REFERENCES instrument (id)) STRICT
    """,
    """
    CREATE INDEX ix_draw_point_bow_build_id ON draw_point (bow_build_id)
    """,
    """
    CREATE INDEX ix_draw_point_instrument_id ON draw_point (instrument_id)
    """,
    """
    CREATE TABLE op (
        op_id TEXT NOT NULL,
        device_id TEXT NOT NULL,
        device_seq INTEGER,
        action TEXT NOT NULL,
        noun TEXT NOT NULL,
        record_id TEXT NOT NULL,
        base_rev INTEGER NOT NULL,
        body TEXT NOT NULL,
        body_sha256 BLOB NOT NULL,
        t_device INTEGER,
        clock_offset_ms INTEGER,
        clock_error_ms INTEGER,
        received INTEGER NOT NULL,
        status TEXT NOT NULL,
        result TEXT NOT NULL,
        PRIMARY KEY (op_id),
        CONSTRAINT uq_op_device_seq UNIQUE (device_id, device_seq),
        FOREIGN KEY(device_id) REFERENCES device (id)) STRICT
    """,
    """
    CREATE INDEX ix_op_record_id ON op (record_id)
    """,
    """
    CREATE TABLE pairing (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        bow_build_id TEXT NOT NULL,
        arrow_build_id TEXT NOT NULL,
        archer_id TEXT NOT NULL,
        PRIMARY KEY (id),
        CONSTRAINT uq_pairing_three UNIQUE (bow_build_id, arrow_build_id, archer_id),
        FOREIGN KEY(bow_build_id) REFERENCES bow_build (id),
        FOREIGN KEY(arrow_build_id) REFERENCES arrow_build (id),
        FOREIGN KEY(archer_id) REFERENCES archer (id)) STRICT
    """,
    """
    CREATE INDEX ix_pairing_archer_id ON pairing (archer_id)
    """,
    """
    CREATE INDEX ix_pairing_arrow_build_id ON pairing (arrow_build_id)
    """,
    """
    CREATE TABLE panel_area (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        panel_build_id TEXT NOT NULL,
        sort TEXT NOT NULL,
        name TEXT,
        x_m REAL NOT NULL,
        y_m REAL NOT NULL,
        to_x_m REAL,
        to_y_m REAL,
        reach_m REAL,
        PRIMARY KEY (id),
        FOREIGN KEY(panel_build_id) REFERENCES panel_build (id)) STRICT
    """,
    """
    CREATE INDEX ix_panel_area_panel_build_id ON panel_area (panel_build_id)
    """,
    """
    CREATE TABLE panel_face (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        panel_build_id TEXT NOT NULL,
        side TEXT NOT NULL,
        picture_id TEXT,
        outline_json TEXT,
        scale_m REAL,
        PRIMARY KEY (id),
        FOREIGN KEY(panel_build_id) REFERENCES panel_build (id)) STRICT
    """,
    """
    CREATE INDEX ix_panel_face_panel_build_id ON panel_face (panel_build_id)
    """,
    """
    CREATE TABLE setup (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        session_id TEXT NOT NULL,
        panel_build_id TEXT NOT NULL,
        stand_id TEXT,
        distance_m REAL,
        angle_rad REAL,
        chronograph_id TEXT,
        chronograph_at_m REAL,
        PRIMARY KEY (id),
        FOREIGN KEY(session_id) REFERENCES session (id),
        FOREIGN KEY(panel_build_id) REFERENCES panel_build (id),
        FOREIGN KEY(stand_id) REFERENCES stand (id),
        FOREIGN KEY(chronograph_id) REFERENCES instrument (id)) STRICT
    """,
    """
    CREATE INDEX ix_setup_chronograph_id ON setup (chronograph_id)
    """,
    """
    CREATE INDEX ix_setup_panel_build_id ON setup (panel_build_id)
    """,
    """
    CREATE INDEX ix_setup_session_id ON setup (session_id)
    """,
    """
    CREATE INDEX ix_setup_stand_id ON setup (stand_id)
    """,
    """
    CREATE TABLE clash (
        id TEXT NOT NULL,
        op_id TEXT NOT NULL,
        noun TEXT NOT NULL,
        record_id TEXT NOT NULL,
        field TEXT NOT NULL,
        stands TEXT NOT NULL,
        offered TEXT NOT NULL,
        stands_op_id TEXT,
        settled_op_id TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(op_id) REFERENCES op (op_id),
        FOREIGN KEY(stands_op_id) REFERENCES op (op_id),
        FOREIGN KEY(settled_op_id) REFERENCES op (op_id)) STRICT
    """,
    """
    CREATE INDEX ix_clash_op_id ON clash (op_id)
    """,
    """
    CREATE INDEX ix_clash_record_id ON clash (record_id)
    """,
    """
    CREATE TABLE revision (
        seq INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        op_id TEXT,
        device_id TEXT,
        noun TEXT NOT NULL,
        record_id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        action TEXT NOT NULL,
        reason TEXT,
        changes TEXT NOT NULL,
        at INTEGER NOT NULL,
        CONSTRAINT uq_revision_record_rev UNIQUE (noun, record_id, rev),
        FOREIGN KEY(op_id) REFERENCES op (op_id),
        FOREIGN KEY(device_id) REFERENCES device (id)) STRICT
    """,
    """
    CREATE TABLE speed_series (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        pairing_id TEXT NOT NULL,
        instrument_id TEXT,
        session_id TEXT,
        stood_at_m REAL,
        air_temperature_k REAL,
        day TEXT,
        note TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(pairing_id) REFERENCES pairing (id),
        FOREIGN KEY(instrument_id) REFERENCES instrument (id),
        FOREIGN KEY(session_id) REFERENCES session (id)) STRICT
    """,
    """
    CREATE INDEX ix_speed_series_instrument_id ON speed_series (instrument_id)
    """,
    """
    CREATE INDEX ix_speed_series_pairing_id ON speed_series (pairing_id)
    """,
    """
    CREATE INDEX ix_speed_series_session_id ON speed_series (session_id)
    """,
    """
    CREATE TABLE walk (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        setup_id TEXT NOT NULL,
        begun_at INTEGER,
        at_butt_at INTEGER,
        PRIMARY KEY (id),
        FOREIGN KEY(setup_id) REFERENCES setup (id)) STRICT
    """,
    """
    CREATE INDEX ix_walk_setup_id ON walk (setup_id)
    """,
    """
    CREATE TABLE shot (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        label TEXT NOT NULL,
        walk_id TEXT NOT NULL,
        position INTEGER,
        bow_build_id TEXT NOT NULL,
        arrow_build_id TEXT NOT NULL,
        archer_id TEXT NOT NULL,
        recorded_by TEXT,
        purpose TEXT NOT NULL,
        short_draw INTEGER,
        aim_id TEXT,
        loosed_at INTEGER,
        note TEXT,
        PRIMARY KEY (id),
        CONSTRAINT fk_shot_pairing FOREIGN KEY(bow_build_id, arrow_build_id, archer_id) REFERENCES pairing (bow_build_id, arrow_build_id, archer_id),
        FOREIGN KEY(walk_id) REFERENCES walk (id),
        FOREIGN KEY(bow_build_id) REFERENCES bow_build (id),
        FOREIGN KEY(arrow_build_id) REFERENCES arrow_build (id),
        FOREIGN KEY(archer_id) REFERENCES archer (id),
        FOREIGN KEY(recorded_by) REFERENCES device (id),
        FOREIGN KEY(aim_id) REFERENCES panel_area (id)) STRICT
    """,
    """
    CREATE INDEX ix_shot_arrow_build_id ON shot (arrow_build_id)
    """,
    """
    CREATE INDEX ix_shot_label ON shot (label)
    """,
    """
    CREATE INDEX ix_shot_pairing ON shot (bow_build_id, arrow_build_id, archer_id)
    """,
    """
    CREATE INDEX ix_shot_walk_id ON shot (walk_id)
    """,
    """
    CREATE TABLE incident (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        session_id TEXT NOT NULL,
        shot_id TEXT,
        what TEXT NOT NULL,
        distance_m REAL,
        done TEXT,
        at INTEGER,
        PRIMARY KEY (id),
        FOREIGN KEY(session_id) REFERENCES session (id),
        FOREIGN KEY(shot_id) REFERENCES shot (id)) STRICT
    """,
    """
    CREATE INDEX ix_incident_session_id ON incident (session_id)
    """,
    """
    CREATE INDEX ix_incident_shot_id ON incident (shot_id)
    """,
    """
    CREATE TABLE shot_reading (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        hit TEXT,
        why TEXT,
        x_m REAL,
        y_m REAL,
        place_known INTEGER,
        touched_first TEXT,
        way_in TEXT,
        layers INTEGER,
        plate TEXT,
        angle_rad REAL,
        outcome_low TEXT,
        outcome_high TEXT,
        look_behind INTEGER,
        depth_m REAL,
        depth_bound TEXT,
        depth_method TEXT,
        reached TEXT,
        back_face_m REAL,
        arrow_did TEXT,
        bounced_m REAL,
        head_fate TEXT,
        shaft_fate TEXT,
        damage TEXT,
        may_be_shot_id TEXT,
        certainty TEXT,
        fair_overrule TEXT,
        fair_reason TEXT,
        note TEXT,
        PRIMARY KEY (id),
        CONSTRAINT fk_shot_reading_shot FOREIGN KEY(id) REFERENCES shot (id),
        FOREIGN KEY(may_be_shot_id) REFERENCES shot (id)) STRICT
    """,
    """
    CREATE TABLE speed_reading (
        id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        struck_rev INTEGER,
        typed TEXT NOT NULL,
        series_id TEXT,
        shot_id TEXT,
        value_m_s REAL,
        place INTEGER,
        method TEXT,
        at INTEGER,
        left_out_reason TEXT,
        PRIMARY KEY (id),
        FOREIGN KEY(series_id) REFERENCES speed_series (id),
        FOREIGN KEY(shot_id) REFERENCES shot (id)) STRICT
    """,
    """
    CREATE INDEX ix_speed_reading_series_id ON speed_reading (series_id)
    """,
    """
    CREATE INDEX ix_speed_reading_shot_id ON speed_reading (shot_id)
    """,
)


def upgrade() -> None:
    for statement in TABLES:
        op.execute(statement)


def downgrade() -> None:
    raise NotImplementedError("A book never goes back to an older form; restore the copy made before the upgrade.")
