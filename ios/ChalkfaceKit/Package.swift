// swift-tools-version: 6.0
// ChalkfaceKit: the core's bindings, the one actor that owns the core, and the model of a screen.
//
// `../generate` makes what stands in Generated (C header, Swift bindings, and on Linux the library).
import PackageDescription

let generated = Context.packageDirectory + "/Generated"

#if os(Linux)
    let core: [Target] = [
        .target(
            name: "ChalkfaceFFI", path: "Generated/ChalkfaceFFI",
            linkerSettings: [
                .unsafeFlags(["-L\(generated)/lib", "-lchalkface", "-Xlinker", "-rpath", "-Xlinker", "\(generated)/lib"])
            ])
    ]
#else
    let core: [Target] = [.binaryTarget(name: "ChalkfaceFFI", path: "Generated/ChalkfaceFFI.xcframework")]
#endif

let package = Package(
    name: "ChalkfaceKit",
    platforms: [.iOS(.v17), .macOS(.v14)],
    products: [.library(name: "ChalkfaceKit", targets: ["ChalkfaceKit"])],
    targets: core + [
        .target(name: "Chalkface", dependencies: ["ChalkfaceFFI"], path: "Generated/Chalkface"),
        .target(name: "ChalkfaceKit", dependencies: ["Chalkface"]),
        .testTarget(name: "ChalkfaceKitTests", dependencies: ["ChalkfaceKit", "Chalkface", "ChalkfaceFFI"]),
    ],
    swiftLanguageModes: [.v6]
)
