//! Pictures of a powdered face, made for the tests: a plain coat with soft round marks,
//! a darker head about it, a dull ground. Seen by a camera that is known.

use super::super::camera::{Camera, FaceShape, Pixel};
use super::super::coat::within;
use super::super::pose::turned;

/// A picture to be made.
pub struct Scene {
    pub shape: FaceShape,
    pub camera: Camera,
    pub size: (usize, usize),
    /// Centre and width of each mark, mm, from heel to toe.
    pub marks: Vec<(f64, f64, f64)>,
}

/// A scene of a right-hander's face, tilted by some degrees, with marks.
pub fn scene(marks: &[(f64, f64, f64)]) -> Scene {
    let size = (800, 600);
    let facing = Camera {
        focal_px: 600.0,
        centre: Pixel { x: 400.0, y: 300.0 },
        rotation: [[1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, -1.0]],
        translation_mm: [3.0, -2.0, 150.0],
        toe_left: true,
    };
    let camera = turned(&facing, &[0.15, -0.1, 0.05, 0.0, 0.0, 0.0, 0.0]);
    Scene { shape: FaceShape::default(), camera, size, marks: marks.to_vec() }
}

impl Scene {
    /// Heel, toe, crown and sole.
    pub fn handles(&self) -> [Pixel; 4] {
        self.shape.handles().map(|[x, y]| self.camera.see(&self.shape, x, y).unwrap())
    }

    /// Red, green and blue of each pixel.
    pub fn picture(&self) -> Vec<u8> {
        let mut noise = 1_u32;
        let mut rgb = Vec::new();
        for v in 0..self.size.1 {
            for u in 0..self.size.0 {
                noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let grain = f64::from(noise >> 24) / 64.0 - 2.0;
                let seen = Pixel { x: u as f64 + 0.5, y: v as f64 + 0.5 };
                let colour = self.colour(seen).map(|c| (c + grain).clamp(0.0, 255.0) as u8);
                rgb.extend(colour);
            }
        }
        rgb
    }

    fn colour(&self, seen: Pixel) -> [f64; 3] {
        const GROUND: [f64; 3] = [70.0, 110.0, 60.0];
        const HEAD: [f64; 3] = [40.0, 40.0, 45.0];
        let Some([x, y]) = self.camera.on_face(&self.shape, seen) else { return GROUND };
        let out = within(&self.shape, x, y);
        if out > 1.15 {
            return GROUND;
        }
        if out > 1.0 {
            return HEAD;
        }
        let mut light = 215.0 + 0.1 * y;
        for (mx, my, across) in &self.marks {
            let r = ((x - mx) * (x - mx) + (y - my) * (y - my)).sqrt();
            let t = ((r - across / 2.0) / 1.5 * 0.5 + 0.5).clamp(0.0, 1.0);
            light *= 1.0 - 0.28 * (1.0 - t * t * (3.0 - 2.0 * t));
        }
        [light, light, light - 4.0]
    }
}

/// The picture as JPEG.
pub fn jpeg(rgb: &[u8], (width, height): (usize, usize)) -> Vec<u8> {
    let mut bytes = Vec::new();
    jpeg_encoder::Encoder::new(&mut bytes, 92)
        .encode(rgb, width as u16, height as u16, jpeg_encoder::ColorType::Rgb)
        .unwrap();
    bytes
}

/// The picture as PNG.
pub fn png(data: &[u8], (width, height): (usize, usize), colour: png::ColorType) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width as u32, height as u32);
    encoder.set_color(colour);
    encoder.write_header().unwrap().write_image_data(data).unwrap();
    bytes
}
