"""The first rows of public tables of unlike shape, as they stand there, and what a person would say that each column is.

The spears: Smith et al. 2020, Journal of Paleolithic Archaeology 3(2):126-156, doi 10.1007/s41982-020-00053-6, data CC0.
Pope: S. T. Pope, A Study of Bows and Arrows, 1923. Hickman: Hickman, Nagler and Klopsteg, Archery: the Technical Side, 1947.
Neyer: Technometrics 36:61-70, 1994, table 1. Wu and Tian: Three-phase optimal design of sensitivity experiments, Journal of
Statistical Planning and Inference 149:1-15, 2014. Rockwell: the table of least thicknesses of ASTM E18, as reprinted.
These were in sight when the words of headings were collected, so they say less of strangers' than held_out_sheets.py does.
"""

PUBLIC: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "Pope 1923, what arrows went through": (
        "shot",
        "test,bow_lbf,range_yd,arrow_no,point,target,result,depth_in\n"
        "liver_box,35,10,1,blunt headless,deer hide + 4 in liver + deer hide,rebound,\n"
        "liver_box,35,10,2,blunt screw head,deer hide + 4 in liver + deer hide,rebound,\n"
        "liver_box,35,10,3,blunt shell,deer hide + 4 in liver + deer hide,rebound,\n",
        ("", "bow_weight", "distance", "arrow", "head_form", "panel", "outcome", "depth"),
    ),
    "Hickman 1947, weight of the string": (
        "bow",
        "bow,bow_length_in,string_gr,arrow_gr,speed_fps,efficiency_pct\nyew,68,108,400,155,68\nyew,68,254,400,148,62\nlemonwood,72,108,400,142,62\n",
        ("name", "length", "string_mass", "", "", ""),
    ),
    "bows and their speeds": (
        "bow",
        "bow,draw_lbf,draw_in,arrow_gr,speed_fps,range_yd,note\nyew 68 in (Hickman),,26,400,155,,108 gr string\n"
        "yew 68 in (Hickman),,26,400,148,,254 gr string\n",
        ("name", "weight", "draw", "", "", "", "note"),
    ),
    "Neyer 1994, a drop test": (
        "shot",
        "no,height_m,result,note\n1,1.00,0,binary search\n2,1.20,0,\n3,1.40,0,\n4,1.80,0,limit raised\n",
        ("number", "", "outcome", "note"),
    ),
    "Wu and Tian 2014, three phases": (
        "shot",
        "order,x_paper,x_scalefree,y\n1,5.5,5.5,0\n2,16.5,16.5,1\n3,11.0,11.0,0\n4,13.8,13.8,1\n",
        ("position", "", "", "outcome"),
    ),
    "least thickness for Rockwell": (
        "panel",
        "min_thickness_in,min_thickness_mm,HRC,HRA,HRB\n0.016,0.41,,86,\n0.018,0.46,,84,\n0.022,0.56,69,79,\n",
        ("thickness", "", "", "", ""),
    ),
    "spears: speed and energy": (
        "shot",
        "Technology,Target.v..m.s.,Ekin..J.\nThrowing,19.01,42.1\nThrowing,21.32,52.27\nThrowing,18.86,42.24\n",
        ("", "speed", ""),
    ),
    "spears: an earlier laboratory": (
        "shot",
        "Delivery,m.s,E.J\nThrowing,8.98,10.56\nThrowing,9.01,10.64\nThrowing,8.96,10.52\n",
        ("", "speed", ""),
    ),
    "spears: damage on bone": (
        "shot",
        "Shot.no.,Technology,Type,Kinetic.energy..J.\n104,Throwing,FRACTURE,36.73\n110,Throwing,FRACTURE,39.21\n116,Throwing,FRACTURE,41.77\n",
        ("number", "", "", ""),
    ),
    "spears: the tips": (
        "shot",
        "Delivery,Material,shot no.,c/c2,m.s\nThrowing,Glass,G.02,0.33,19.36\n"
        "Throwing,Glass,G.05,0.41,25.81\nThrowing,Glass,G.07,0.11,19.27\n",
        ("", "", "number", "", "speed"),
    ),
}
