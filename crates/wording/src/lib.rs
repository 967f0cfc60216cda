//! A program as present-day written rows.
//!
//! A [`loops::Piece`] goes in, instructions that a knitter of today reads without a key come out: repeats
//! folded, rows grouped, in the terms of the US or the UK. Knows nothing of charts, pages or old prose, and
//! cannot read what it writes. Start at [`write()`]; one row alone is [`fold()`] and [`sentence()`].
//!
//! # The language that is written
//!
//! Exactly this and nothing else. `N` is a number in digits without leading zeros (0 only in a cast-on); words in
//! quotes stand as they are; the first letter of a heading and of a sentence is a capital whatever case the
//! production gives (behind its mark, where one stands before it). `US` and `UK` mark the two sets of terms, of
//! which one text uses one throughout.
//!
//! ```text
//! text      = [ title EOL EOL ] cast-on EOL { line EOL } [ again EOL ]
//! cast-on   = "Cast on " stitches [ " (" multiple ")" ] "."
//!             [ " Divide over " N " needles: " list " sts." ] [ " Join in the round." ]
//! multiple  = ( "a multiple of " N | "any number" ) [ ", plus " N ]
//! again     = "Then again from " ( "the first " word | heading ) ", as long as the pattern says" [ "; " once ] "."
//!                                                                only where the rows can follow themselves
//! once      = "the " word " before it is worked once" | "the " N " " word "s before it are worked once"
//! line      = heading [ " (" sides ")" ] ": " body "." [ " [" stitches "]" ]
//! sides     = "RS" | "WS" | "RS and WS" | "WS and RS"            two sides in turn, the first one first
//!
//! heading   = [ section ", " ] numbers                           the label "flap 3" is "Flap, row 3"
//!           | word " " label                                     a label that begins with a digit, like "3a"
//!           | name                                               any other label
//!           | "Next " word                                       a row without a label
//! word      = "row" | "round"                                    rounds in a piece worked in the round
//! numbers   = word " " N
//!           | word "s " list                                     2 rows, or up to 6 that stand 2 apart
//!           | word "s " N "–" N                                  3 or more rows one after another
//!           | word " " N " and every 2nd " word " to " word " " N
//! list      = N { ", " N } " and " N
//! section, name = any text without ":", "(", ")", "[", "]"
//!
//! body      = "repeat " word "s " ( list | N "–" N ) [ " of " section ] [ ", " N " times" ]
//!                                                                rows of the same section where none is named
//!           | "work no sts"
//!           | "too long to write out"                            a row of more than 20,000 operations
//!           | "knit" | "purl" | ( "bind off" | "cast off" ) " all sts"      the whole row
//!           | step { ", " step } [ ", leaving " stitches " unworked" ]
//! step      = part
//!           | "*" part { ", " part } "; repeat from * " reach    at most one in a row
//!           | ( "knit" | "purl" ) " " reach                      at most one in a row, and then no star
//! reach     = "to end" | "to last st" | "to last " N " sts"      stitches still on the left needle then,
//!                                                                those left unworked among them
//! part      = run | "(" run { ", " run } ") " N " times"
//! run       = counted | tight [ " " N " times" ] | "yo" | "(yo) " N " times"
//! stitches  = "1 st" | N " sts"
//! place     = "next st" | "each of next " N " sts"
//!
//! counted   = "k" N | "p" N | "k" N " tbl" | "p" N " tbl"
//!           | "sl " N [ " kwise" | " wyif" | " wyib" ]
//!           | ( "k1-p1" | "p1-k1" | "k1-yo-k1" | "k1-p1-k1" | "k1-p1-k1-p1" | "k1-p1-k1-p1-k1" ) " in " place
//!           | ( "bind off " | "cast off " ) stitches | "cast on " stitches
//!           | "pick up and knit " stitches | "drop " stitches
//!           | "place " stitches " on holder" | "knit " stitches " from holder"
//! tight     = "yo2" | "yo3" | "sl1yo" | "brk" | "brp" | "m1" | "kfb" | "pfb" | "ssk" | "ssp" | "s1k2po" | "turn"
//!           | ( "k2tog" | "p2tog" | "k3tog" | "p3tog" ) [ " tbl" ] | "k4tog" | "p4tog" | "k5tog" | "p5tog"
//!           | "skp" | "spp" | "sk2p" | "s2kp" | "sp2p"           US
//!           | "skpo" | "sppo" | "sk2po" | "s2kpo" | "sp2po"      UK
//!           | N "/" N " " crossing
//! crossing  = "LC" | "RC" | "LPC" | "RPC"
//!           | ( "LC" | "RC" ) ( " purled" | " front purled" )
//! ```
//!
//! What it means: a star, a sweep ("knit to end") and "all sts" are worked over what the row before left; the
//! count in square brackets is what is on the needles after the last row of the line, those left unworked among
//! them. Rows of one line are each worked as the line says, at their number. "Repeat rows 1–4, 3 times" is three
//! more times, over exactly the rows that its own heading names. The stitch that binding off leaves on the right
//! needle is the first of the run that follows.

mod crossing;
mod fold;
mod group;
mod label;
mod phrase;
mod repeats;
mod sentence;
mod terms;
mod written;

pub use self::fold::{Width, fold};
pub use self::label::row_heading;
pub use self::phrase::{Part, Phrase, Run, Step, Verb};
pub use self::sentence::sentence;
pub use self::terms::{Terms, Word};
pub use self::written::{Body, Sides, Written, WrittenRow, abbreviations_used, then_again, write};
