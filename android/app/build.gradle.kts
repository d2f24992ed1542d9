// For who builds with Android Studio. Not run by the tests: they use Maven, and android/build-apk.
// First, from the repository: android/bindings android/app/target/generated/uniffi, and
//   cargo ndk -t arm64-v8a -t armeabi-v7a -t x86_64 -o android/app/target/jniLibs build --release -p chalkface-bindings
plugins {
    id("com.android.application") version "8.13.0"
    id("org.jetbrains.kotlin.android") version "2.2.20"
}

android {
    namespace = "chalkface.app"
    compileSdk = 35
    defaultConfig {
        applicationId = "chalkface.app"
        minSdk = 26
        targetSdk = 35
        versionCode = 1
        versionName = "0.1.0"
    }
    sourceSets["main"].apply {
        java.srcDirs("src/main/kotlin", "target/generated/uniffi")
        res.srcDirs("src/main/res", "target/more")
        jniLibs.srcDirs("target/jniLibs")
    }
    packaging.jniLibs.useLegacyPackaging = true
    buildTypes["release"].apply {
        isMinifyEnabled = true
        proguardFiles("../apk/keep.pro")
    }
}

dependencies {
    implementation("net.java.dev.jna:jna:5.19.1@aar")
}
