"""Sheets as other people might keep them, all invented. They were written after the words of `targets.py` were settled, and no word was
changed for them since: so they say how well columns of strangers are known.

Each: what it holds, the text of the file, what each column is ("" for what the book does not take).
"""

HELD_OUT: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "a club's target day": (
        "shot",
        "Shot #,Date of shot,Shooter,Bow used,Arrow ID,Arrowhead type,Armour sample,Range (m),Velocity m/s,"
        "Outcome of shot,Penetration (mm),Remarks\n"
        "1,2024-05-04,Ann,Hickory 90,7,Leaf,Coupon 3,10,48.1,dent,0,windy\n"
        "2,2024-05-04,Ann,Hickory 90,8,Leaf,Coupon 3,10,48.9,through,14,\n"
        "3,2024-05-04,Bert,Hickory 90,7,Leaf,Coupon 4,10,47.7,bounced,,\n",
        ("number", "day", "archer", "bow", "arrow", "head_form", "panel", "distance", "speed", "outcome", "depth", "note"),
    ),
    "an engineer's log": (
        "shot",
        "Run\tSpecimen\tPlate thickness [mm]\tObliquity [deg]\tProjectile mass [g]\tImpact velocity [m/s]\tKE [J]\t"
        "Perforated? (Y/N)\tDOP [mm]\tComment\n"
        "1\tS-01\t1.5\t0\t65.2\t52.3\t89.2\tN\t\t\n"
        "2\tS-01\t1.5\t0\t65.2\t55.0\t98.6\tY\t22\tpetalling\n3\tS-02\t1.5\t30\t65.4\t54.1\t95.7\tN\t\t\n",
        ("number", "panel", "thickness", "angle", "arrow_mass", "speed", "", "outcome", "depth", "note"),
    ),
    "a phone's export": (
        "shot",
        "timestamp,user,bow_name,draw_weight_lb,arrow_no,point,distance_yd,speed_fps,hit,x_mm,y_mm,temp_c,gps\n"
        "2025-03-02 10:14:00,Cal,Osage,55,A1,blunt,20,160,yes,12,-30,11,51.1 -1.2\n"
        "2025-03-02 10:16:00,Cal,Osage,55,A2,blunt,20,158,no,,,11,51.1 -1.2\n",
        ("day", "archer", "bow", "bow_weight", "arrow", "head_form", "distance", "speed", "hit", "x", "y", "temperature", ""),
    ),
    "counts only": (
        "shot",
        "Datum;Schütze;Bogen;Pfeil;Spitze;Ziel;Treffer;Durchschlag;Anmerkung\n"
        "1.5.2024;Dirk;Eibe 100;3;Bodkin;Brustplatte;5/8;2/8;Regen\n2.5.2024;Dirk;Eibe 100;4;Bodkin;Kettenhemd;7/8;6/8;\n",
        ("day", "archer", "bow", "arrow", "head_form", "panel", "note", "note", "note"),
    ),
    "a fletcher's list": (
        "arrow",
        "No.;Shaft wood;Spine;Shaft length;Diameter;Weight finished (gr);Point weight (gr);Point type;Fletching;Nocks;Price\n"
        '1;Ash;70;31";1/2";1,110;280;short bodkin;grey goose;horn;14\n2;Ash;72;31";1/2";1,095;275;needle;grey goose;horn;14\n',
        ("tag", "material", "", "length", "diameter", "mass", "head_mass", "head_form", "fletching", "nock", ""),
    ),
    "arrows in grams": (
        "arrow",
        "Arrow,Overall length mm,Mass g,Balance point mm,Timber,Taper,Head,Head length (mm),Head width (mm),Smith\n"
        "B1,850,61.5,470,poplar,bobtailed,leaf,75,22,Forge One\nB2,848,60.9,468,poplar,bobtailed,leaf,74,22,Forge One\n",
        ("tag", "whole_length", "mass", "balance", "material", "profile", "head_form", "head_length", "head_width", "maker"),
    ),
    "a quiver, two lines of headings": (
        "arrow",
        ",Shaft,,,Head,,\n"
        "ID,Wood,Length (in),Max diameter (mm),Type,Mass (g),Made by\nQ1,birch,30.5,10.5,needle,17.5,Wat\n"
        "Q2,birch,30.5,10.4,lozenge,19,Wat\n",
        ("tag", "material", "length", "diameter", "head_form", "head_mass", "maker"),
    ),
    "a bowyer's shelf": (
        "bow",
        "Bow name,Bowyer,Year,Wood,Length (in),Poundage,At draw length (in),Brace (in),String material,Notes\n"
        'Bess,R. Hale,2019,Italian yew,78,"112 lb @ 32""",32,6.5,linen,\n'
        'Meg,R. Hale,2021,ash,76,"70 lb @ 28""",28,6.25,dacron,for guests\n',
        ("name", "maker", "", "material", "length", "weight", "draw", "brace", "string", "note"),
    ),
    "bows in newtons": (
        "bow",
        "id;type;draw force (N);draw (mm);bow length (mm);string mass (g);species;owner\n"
        "L1;self;445;711;1930;8,4;yew;Elin\nC2;composite;310;720;1250;7,9;;Elin\n",
        ("name", "sort", "weight", "draw", "length", "string_mass", "material", ""),
    ),
    "plates from the shop": (
        "panel",
        "Plate ID,Steel grade,Nominal thickness (mm),Width mm,Height mm,Weight (kg),Heat treatment,Supplier,Cost\n"
        "PL1,S235,1.5,300,300,1.06,none,Metals Ltd,12.50\nPL2,C45,2.0,300,300,1.41,quenched,Metals Ltd,16.00\n",
        ("name", "material", "thickness", "width", "height", "mass", "heat_treatment", "maker", ""),
    ),
    "mail and cloth": (
        "panel",
        "Sample,Armour kind,Ring OD (mm),Wire dia (mm),Riveted / butted,Layers,Fabric,Total mass (g),Condition,Based on\n"
        "M1,mail,9,1.4,riveted,,,1450,good,Vimose\nT1,padded,,,,16,linen,820,new,a drawing\n",
        ("name", "construction", "ring_outer", "ring_wire", "ring_joint", "layers", "cloth", "mass", "condition", "made_after"),
    ),
}
