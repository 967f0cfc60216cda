//! Writes the energy of a piece of double rib, and what the solver makes of it, as JSON for
//! `bench/peers/cloth_scipy.py`: `export_energy STITCHES_A_SIDE FILE`.

use std::time::Instant;

use cloth::{Energy, Fabric, LinkKind, Mesh, Settings, Vec3, minimise};
use loops::{Piece, Side, Worked};
use serde_json::json;

fn rib(side: u32) -> Result<Piece, loops::UnknownOp> {
    let tokens = vec!["k*2 p*2"; side as usize / 4].join(" ");
    Piece::of_tokens(Worked::Flat, Side::Right, side / 4 * 4, vec![tokens; side as usize])
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let side: u32 = arguments.next().ok_or("how many stitches a side?")?.parse()?;
    let file = arguments.next().ok_or("which file?")?;
    let fabric = Fabric::default();
    let began = Instant::now();
    let mesh = Mesh::of(&rib(side)?, &fabric)?;
    let energy = Energy::new(&mesh, &fabric, &[]);
    let found = minimise(&energy, mesh.start(), &Settings::default());
    let seconds = began.elapsed().as_secs_f64();
    let points = |points: &[Vec3]| points.iter().map(|p| [p.x, p.y, p.z]).collect::<Vec<_>>();
    let main =
        |node: usize| mesh.main_links(node as u32).map(|links| links.map(|link| link.map_or(-1, i64::from)));
    let text = json!({
        "start": points(mesh.start()),
        "links": mesh.links().iter().map(|l| [l.from, l.to]).collect::<Vec<_>>(),
        "rest": mesh.links().iter().map(|l| l.rest).collect::<Vec<_>>(),
        "stiffness": mesh.links().iter().map(|l| l.stiffness).collect::<Vec<_>>(),
        "contact": mesh.links().iter().map(|l| l.kind == LinkKind::Contact).collect::<Vec<_>>(),
        "main": (0..mesh.len()).filter_map(main).collect::<Vec<_>>(),
        "folds": mesh.folds().iter().map(|f| [f.course, f.wale]).collect::<Vec<_>>(),
        "bend": fabric.bend,
        "bed": fabric.bed,
        "found": {
            "positions": points(&found.positions),
            "energies": found.energies,
            "residual": found.residual,
            "seconds": seconds,
        },
    });
    std::fs::write(file, text.to_string())?;
    Ok(())
}
