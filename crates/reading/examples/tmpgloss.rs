use reading::*;
fn main() {
    let lex = notation::Lexicon::builtin().unwrap();
    let all = std::io::read_to_string(std::io::stdin()).unwrap();
    for t in all.split("\n%%\n") {
        let g = senses_of(t, &lex);
        println!("{t}");
        for d in &g.definitions { println!("     {} = {:?} {}", d.term, d.meaning, d.confirms); }
        println!("     {:?} {:?} missed {:?}", g.answers, g.respellings.iter().map(|r| format!("{:?}>{:?}", r.term, r.words)).collect::<Vec<_>>(), g.not_understood.iter().map(|s| s.of(t)).collect::<Vec<_>>());
    }
}
