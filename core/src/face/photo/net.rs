//! A small network of convolutions, and the bytes that its weights are kept in.
//!
//! The rule: sums run in a fixed order in 32-bit arithmetic without fused steps, so
//! that the same picture gives the same bytes everywhere; bytes that are no network
//! give none, never a wrong size. Weights come out of `core/train` (see its README) and
//! are 16-bit whole numbers with one scale a layer. Start at [`Net::read`], [`Net::run`].
#![allow(clippy::indexing_slicing, reason = "loops run to the layers' own sizes, checked when read")]

/// Several numbers a place, the numbers of one place side by side.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Map {
    /// Places across.
    pub width: usize,
    /// Places down.
    pub height: usize,
    /// Numbers a place.
    pub depth: usize,
    /// Row by row, place by place.
    pub data: Vec<f32>,
}

impl Map {
    /// All zero.
    pub fn new(width: usize, height: usize, depth: usize) -> Self {
        Self { width, height, depth, data: vec![0.0; width * height * depth] }
    }

    /// The numbers of a place.
    pub fn at(&self, x: usize, y: usize) -> &[f32] {
        let n = (y * self.width + x) * self.depth;
        &self.data[n..n + self.depth]
    }
}

/// What is done with a layer's sums.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Then {
    /// Negative ones become 0.
    Rectify,
    /// The same, added to what went in.
    AddRectified,
    /// Nothing.
    Keep,
}

#[derive(Debug, Clone)]
struct Layer {
    kernel: usize,
    stride: usize,
    spread: usize,
    inputs: usize,
    outputs: usize,
    then: Then,
    /// By row and column of the kernel, input and output.
    weights: Vec<f32>,
    biases: Vec<f32>,
}

/// A network.
#[derive(Debug, Clone)]
pub(super) struct Net(Vec<Layer>);

/// So many outputs are summed side by side.
const LANES: usize = 8;

impl Net {
    /// Reads a network: for each layer six bytes (kernel, stride, spread, inputs, outputs,
    /// then), the scale as a 32-bit float, 16-bit weights, biases as 32-bit floats, all
    /// with the lowest byte first.
    pub fn read(mut bytes: &[u8]) -> Option<Self> {
        let mut layers: Vec<Layer> = Vec::new();
        while !bytes.is_empty() {
            let [kernel, stride, spread, inputs, outputs, then] = *bytes.get(..6)? else { return None };
            let [kernel, stride, spread, inputs, outputs] =
                [kernel, stride, spread, inputs, outputs].map(usize::from);
            let then = match then {
                0 => Then::Rectify,
                1 if inputs == outputs && stride == 1 => Then::AddRectified,
                2 => Then::Keep,
                _ => return None,
            };
            let known = layers.last().is_none_or(|before| before.outputs == inputs);
            if !known || kernel * stride * spread * inputs * outputs == 0 {
                return None;
            }
            bytes = bytes.get(6..)?;
            let (scale, rest) = floats(bytes, 1)?;
            let count = kernel * kernel * inputs * outputs;
            let scale = scale.first().copied()?;
            let weights = rest.get(..2 * count)?;
            let weights = weights
                .chunks_exact(2)
                .map(|w| f32::from(i16::from_le_bytes([w[0], w[1]])) * scale)
                .collect();
            let (biases, rest) = floats(rest.get(2 * count..)?, outputs)?;
            bytes = rest;
            layers.push(Layer { kernel, stride, spread, inputs, outputs, then, weights, biases });
        }
        Some(Self(layers))
    }

    /// What the network makes of a map; nothing where it takes other numbers a place.
    pub fn run(&self, input: Map) -> Option<Map> {
        let mut map = input;
        for layer in &self.0 {
            if layer.inputs != map.depth {
                return None;
            }
            map = layer.run(&map);
        }
        Some(map)
    }
}

fn floats(bytes: &[u8], count: usize) -> Option<(Vec<f32>, &[u8])> {
    let part = bytes.get(..4 * count)?;
    let read = part.chunks_exact(4).map(|f| f32::from_le_bytes([f[0], f[1], f[2], f[3]])).collect();
    Some((read, &bytes[4 * count..]))
}

impl Layer {
    /// Beyond its edges a map is 0; a stride of 2 with a kernel of 4 is centred between two places.
    fn run(&self, input: &Map) -> Map {
        let pad = ((self.kernel - 1) * self.spread / 2) as i64;
        let mut out = Map::new(input.width / self.stride, input.height / self.stride, self.outputs);
        let mut sums = vec![0.0_f32; self.outputs.next_multiple_of(LANES)];
        for y in 0..out.height {
            for x in 0..out.width {
                sums[..self.outputs].copy_from_slice(&self.biases);
                for ky in 0..self.kernel {
                    let v = (y * self.stride + ky * self.spread) as i64 - pad;
                    if v < 0 || v >= input.height as i64 {
                        continue;
                    }
                    for kx in 0..self.kernel {
                        let u = (x * self.stride + kx * self.spread) as i64 - pad;
                        if u < 0 || u >= input.width as i64 {
                            continue;
                        }
                        let tap = (ky * self.kernel + kx) * self.inputs * self.outputs;
                        let weights = &self.weights[tap..tap + self.inputs * self.outputs];
                        add(&mut sums, input.at(u as usize, v as usize), weights, self.outputs);
                    }
                }
                let place = (y * out.width + x) * self.outputs;
                let into = &mut out.data[place..place + self.outputs];
                match self.then {
                    Then::Keep => into.copy_from_slice(&sums[..self.outputs]),
                    Then::Rectify => into.iter_mut().zip(&sums).for_each(|(o, s)| *o = s.max(0.0)),
                    Then::AddRectified => {
                        let before = input.at(x, y);
                        for ((o, s), b) in into.iter_mut().zip(&sums).zip(before) {
                            *o = b + s.max(0.0);
                        }
                    }
                }
            }
        }
        out
    }
}

/// Adds one tap of the kernel: each input times its weights.
fn add(sums: &mut [f32], inputs: &[f32], weights: &[f32], outputs: usize) {
    if outputs.is_multiple_of(LANES) {
        for (block, sums) in sums.chunks_exact_mut(LANES).enumerate() {
            let mut lanes = [0.0_f32; LANES];
            lanes.copy_from_slice(sums);
            for (input, row) in inputs.iter().zip(weights.chunks_exact(outputs)) {
                let row = &row[block * LANES..(block + 1) * LANES];
                for (lane, weight) in lanes.iter_mut().zip(row) {
                    *lane += input * weight;
                }
            }
            sums.copy_from_slice(&lanes);
        }
    } else {
        for (input, row) in inputs.iter().zip(weights.chunks_exact(outputs)) {
            for (sum, weight) in sums.iter_mut().zip(row) {
                *sum += input * weight;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One layer's bytes with all weights 1 (scale 1) and a bias of 0.5.
    fn layer(kernel: u8, stride: u8, spread: u8, inputs: u8, outputs: u8, then: u8) -> Vec<u8> {
        let mut bytes = vec![kernel, stride, spread, inputs, outputs, then];
        bytes.extend(1.0_f32.to_le_bytes());
        let count = usize::from(kernel) * usize::from(kernel) * usize::from(inputs) * usize::from(outputs);
        bytes.extend((0..count).flat_map(|_| 1_i16.to_le_bytes()));
        bytes.extend((0..outputs).flat_map(|_| 0.5_f32.to_le_bytes()));
        bytes
    }

    #[test]
    fn a_kernel_of_ones_sums_its_neighbours_and_nothing_lies_beyond_the_edge() {
        let mut input = Map::new(4, 4, 1);
        input.data = (0..16).map(|v| v as f32).collect();
        let out = Net::read(&layer(3, 1, 1, 1, 1, 2)).unwrap().run(input.clone()).unwrap();
        assert_eq!(out.at(0, 0), [10.0 + 0.5]);
        assert_eq!(out.at(1, 1), [45.0 + 0.5]);
        let half = Net::read(&layer(4, 2, 1, 1, 1, 2)).unwrap().run(input.clone()).unwrap();
        assert_eq!((half.width, half.height), (2, 2));
        assert_eq!(half.at(0, 0), [45.0 + 0.5]);
        let apart = Net::read(&layer(3, 1, 2, 8, 8, 1)).unwrap();
        assert!(apart.run(input).is_none(), "one number a place where eight go in");
    }

    #[test]
    fn bytes_that_are_no_network_are_none() {
        let good = layer(3, 1, 1, 2, 8, 0);
        assert!(Net::read(&good).is_some());
        for cut in 1..good.len() {
            assert!(Net::read(&good[..cut]).is_none(), "{cut}");
        }
        let mut two = good.clone();
        two.extend(layer(1, 1, 1, 4, 4, 2));
        assert!(Net::read(&two).is_none(), "eight come out and four go in");
        assert!(Net::read(&layer(3, 0, 1, 1, 1, 0)).is_none());
    }
}
