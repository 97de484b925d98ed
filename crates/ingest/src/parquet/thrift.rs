//! The compact protocol of Apache Thrift, in which a Parquet file says what it holds.
//!
//! Nothing is believed: a value takes no more memory than the bytes that say it, times a small number, and
//! structures in structures end at a depth that no file needs.

use super::fault::Damaged;

/// No structure of the format lies deeper (ours): a unit of time lies five deep.
const DEEPEST: usize = 12;

/// A value as it was written.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value<'a> {
    Bool(bool),
    Int(i64),
    Bytes(&'a [u8]),
    List(Vec<Value<'a>>),
    Struct(Fields<'a>),
    /// A kind that the format of Parquet has no use for where it is read.
    Other,
}

/// The fields of a structure, by their numbers.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Fields<'a>(Vec<(i16, Value<'a>)>);

impl<'a> Fields<'a> {
    pub(super) fn get(&self, number: i16) -> Option<&Value<'a>> {
        self.0.iter().find_map(|(own, value)| (*own == number).then_some(value))
    }

    pub(super) fn int(&self, number: i16) -> Option<i64> {
        if let Some(Value::Int(int)) = self.get(number) { Some(*int) } else { None }
    }

    /// A number that can't be negative and must be there.
    pub(super) fn count(&self, number: i16) -> Result<usize, Damaged> {
        self.int(number).and_then(|count| usize::try_from(count).ok()).ok_or(Damaged)
    }

    pub(super) fn flag(&self, number: i16) -> Option<bool> {
        if let Some(Value::Bool(flag)) = self.get(number) { Some(*flag) } else { None }
    }

    pub(super) fn bytes(&self, number: i16) -> Option<&'a [u8]> {
        if let Some(Value::Bytes(bytes)) = self.get(number) { Some(bytes) } else { None }
    }

    pub(super) fn fields(&self, number: i16) -> Option<&Self> {
        if let Some(Value::Struct(fields)) = self.get(number) { Some(fields) } else { None }
    }

    /// The structures of a list that must be there.
    pub(super) fn structs(&self, number: i16) -> Result<Vec<&Self>, Damaged> {
        let Some(Value::List(values)) = self.get(number) else { return Err(Damaged) };
        let fields = values.iter().map(|value| match value {
            Value::Struct(fields) => Some(fields),
            _ => None,
        });
        fields.collect::<Option<_>>().ok_or(Damaged)
    }

    /// The number of the only field of a union.
    pub(super) fn variant(&self) -> Option<i16> {
        self.0.first().map(|(number, _)| *number)
    }
}

/// Reads the structure that `bytes` begin with, and says how many of them it takes.
pub(super) fn read(bytes: &[u8]) -> Result<(Fields<'_>, usize), Damaged> {
    let mut reader = Reader { bytes, at: 0 };
    let fields = reader.fields(DEEPEST)?;
    Ok((fields, reader.at))
}

/// A number of seven bits a byte, the lowest first.
pub(super) fn varint(bytes: &[u8], at: &mut usize) -> Result<u64, Damaged> {
    let mut value = 0_u64;
    for shift in (0..64).step_by(7) {
        let byte = *bytes.get(*at).ok_or(Damaged)?;
        *at += 1;
        value |= u64::from(byte & 0x7f) << shift;
        if byte < 0x80 {
            return Ok(value);
        }
    }
    Err(Damaged)
}

/// The same with the sign in the lowest bit.
pub(super) fn zigzag(bytes: &[u8], at: &mut usize) -> Result<i64, Damaged> {
    let value = varint(bytes, at)?;
    Ok((value >> 1) as i64 ^ -((value & 1) as i64))
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Reader<'a> {
    fn byte(&mut self) -> Result<u8, Damaged> {
        let byte = *self.bytes.get(self.at).ok_or(Damaged)?;
        self.at += 1;
        Ok(byte)
    }

    fn take(&mut self, count: usize) -> Result<&'a [u8], Damaged> {
        let end = self.at.checked_add(count).ok_or(Damaged)?;
        let taken = self.bytes.get(self.at..end).ok_or(Damaged)?;
        self.at = end;
        Ok(taken)
    }

    fn count(&mut self) -> Result<usize, Damaged> {
        usize::try_from(varint(self.bytes, &mut self.at)?).map_err(|_too_large| Damaged)
    }

    fn fields(&mut self, depth: usize) -> Result<Fields<'a>, Damaged> {
        let depth = depth.checked_sub(1).ok_or(Damaged)?;
        let mut fields = Vec::new();
        let mut number = 0_i16;
        loop {
            let head = self.byte()?;
            if head == 0 {
                return Ok(Fields(fields));
            }
            number = if head >> 4 == 0 {
                zigzag(self.bytes, &mut self.at)?.try_into().map_err(|_too_large| Damaged)?
            } else {
                number.checked_add(i16::from(head >> 4)).ok_or(Damaged)?
            };
            let value = match head & 15 {
                // A field that is a truth says which in its head.
                kind @ (1 | 2) => Value::Bool(kind == 1),
                kind => self.value(kind, depth)?,
            };
            fields.push((number, value));
        }
    }

    fn value(&mut self, kind: u8, depth: usize) -> Result<Value<'a>, Damaged> {
        Ok(match kind {
            1 | 2 => Value::Bool(self.byte()? == 1),
            3 => Value::Int(i64::from(self.byte()? as i8)),
            4..=6 => Value::Int(zigzag(self.bytes, &mut self.at)?),
            7 => self.take(8).map(|_number| Value::Other)?,
            8 => {
                let count = self.count()?;
                Value::Bytes(self.take(count)?)
            }
            9 | 10 => {
                let depth = depth.checked_sub(1).ok_or(Damaged)?;
                let head = self.byte()?;
                let count = if head >> 4 == 15 { self.count()? } else { usize::from(head >> 4) };
                // Each takes a byte at least, which ends the list where it says too much.
                let values = (0..count).map(|_| self.value(head & 15, depth));
                Value::List(values.collect::<Result<_, _>>()?)
            }
            12 => Value::Struct(self.fields(depth)?),
            // Maps, and what the protocol does not have.
            _ => return Err(Damaged),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_their_sign() {
        let zigzag = |bytes: &[u8]| zigzag(bytes, &mut 0);
        assert_eq!([zigzag(&[0]), zigzag(&[1]), zigzag(&[2])], [Ok(0), Ok(-1), Ok(1)]);
        assert_eq!(zigzag(&[0xff; 9]), Err(Damaged));
        let least = [&[0xff; 9][..], &[1]].concat();
        assert_eq!(zigzag(&least), Ok(i64::MIN));
    }

    #[test]
    fn a_structure_and_what_it_holds() {
        // 1: 7, 3: "ab", 4: [true, false], 20: {1: true}.
        let bytes =
            [0x15, 14, 0x28, 2, b'a', b'b', 0x19, 0x21, 1, 2, 0x0c, 40, 0x11, 0, 0, 0x99, 0x99];
        let (fields, length) = read(&bytes).unwrap_or_else(|_damaged| panic!("not read"));
        assert_eq!((fields.int(1), fields.bytes(3), length), (Some(7), Some(&b"ab"[..]), 15));
        assert_eq!(fields.get(4), Some(&Value::List(vec![Value::Bool(true), Value::Bool(false)])));
        assert_eq!(fields.fields(20).and_then(|inner| inner.flag(1)), Some(true));
    }

    #[test]
    fn what_says_more_than_it_holds_is_damaged() {
        for bytes in [
            &[0x28, 0xff, 0xff, 0xff, 0xff, 0x0f, b'a'][..],
            &[0x19, 0xfc, 0xff, 0xff, 0xff, 0xff, 0x0f, 0],
            &[0x15],
            &[0x1b, 1],
            &[0x1c; 1000],
            &[0x19; 1000],
        ] {
            assert_eq!(read(bytes).err(), Some(Damaged), "{bytes:?}");
        }
    }
}
