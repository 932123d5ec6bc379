fn main() {
    let text = std::fs::read_to_string(std::env::args().nth(1).unwrap()).unwrap();
    let (d, a) = batch::Document::read(&text).unwrap_or_else(|f| panic!("{f:#?}"));
    let t = std::time::Instant::now();
    let r = batch::Reckoning::of(d.clone(), a.clone()).unwrap_or_else(|f| panic!("{f:#?}"));
    let first = t.elapsed();
    let t = std::time::Instant::now();
    for _ in 0..20 {
        let _ = batch::Reckoning::of(d.clone(), a.clone());
    }
    eprintln!("first {first:?}, then {:?}", t.elapsed() / 20);
    let mut w = batch::wire::Reckoning::from(&r);
    w.fermentation.course.truncate(3);
    println!("{}", serde_json::to_string_pretty(&w).unwrap());
}
