using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Running;
using Throughline.Benchmarks;

BenchmarkSwitcher.FromAssembly(typeof(CheckBenchmarks).Assembly)
    .Run(args, DefaultConfig.Instance.WithArtifactsPath(Path.Combine(CheckBenchmarks.Root(), "artifacts", "benchmarks")));
