use reading::*;
fn main() {
    let lex = notation::Lexicon::builtin().unwrap();
    let base = Reader::with(lex.clone()).unwrap();
    let mut files: Vec<String> = std::env::args().skip(1).collect(); files.sort();
    let mut t = [0.0f64; 3]; let mut n = 0; let (mut without, mut with) = (0, 0); let mut all = 0;
    for f in files {
        let g: toml::Table = toml::from_str(&std::fs::read_to_string(&f).unwrap()).unwrap();
        let s = |k: &str| g.get(k).and_then(toml::Value::as_str).unwrap_or("").to_owned();
        let a = std::time::Instant::now(); let w = senses_within(&s("text"), &lex); t[0] += a.elapsed().as_secs_f64(); n += 1;
        drop(w);
        if s("glossary").is_empty() { continue; }
        let a = std::time::Instant::now(); let gl = senses_of(&s("glossary"), &lex); t[1] += a.elapsed().as_secs_f64();
        let a = std::time::Instant::now(); let l = gl.install(&lex); t[2] += a.elapsed().as_secs_f64();
        let open = g.contains_key("multiple") || g.contains_key("cast_on_chosen");
        let cast_on = g.get("cast_on").and_then(toml::Value::as_integer).filter(|_| open).map(|c| c as u32);
        let gold: Vec<String> = g["rows"].as_array().unwrap().iter().map(|r| norm(r["ops"].as_str().unwrap())).collect();
        let rows = |r: &Reader, answers| -> usize { let x = r.read(&s("text"), &Options { cast_on, answers, ..Options::default() });
            let rows: Vec<String> = x.pieces.iter().flat_map(|p| p.worked.rows.iter().map(|r| norm(&loops::tokens(&r.ops)))).collect();
            rows.iter().zip(&gold).filter(|(a, b)| a == b).count() };
        let b = rows(&base, Default::default()); let c = rows(&Reader::with(l).unwrap(), gl.answers.clone());
        all += gold.len(); without += b; with += c;
        if b != c || c != gold.len() { println!("{f}: {} rows, without {b}, with {c}", gold.len()); }
    }
    println!("{n} texts: within {:.2} ms, glossary {:.2} ms each-ish, install {:.2}; rows {all} without {without} with {with}", t[0]*1e3/n as f64, t[1]*1e3/n as f64, t[2]*1e3/n as f64);
}
fn norm(s: &str) -> String {
    let mut out = Vec::new();
    for t in s.split(' ') { let (a, c) = t.split_once('*').map_or((t, 1), |(a, c)| (a, c.parse().unwrap())); let a = if a.starts_with("sl") && a != "slyo" { "sl" } else { a }; for _ in 0..c { out.push(a.to_owned()); } }
    out.join(" ")
}
