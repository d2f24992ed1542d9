// See app/build.gradle.kts.
pluginManagement { repositories { google(); mavenCentral() } }
dependencyResolutionManagement { repositories { google(); mavenCentral() } }
rootProject.name = "chalkface"
include(":app")
