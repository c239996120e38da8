using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Running;
using Throughline.Benchmarks;

// "sizes" prints two tables in about a minute, "batch" one; everything else is BenchmarkDotNet's.
if (args is ["sizes"])
    return SizeComparison.Run() | DemoComparison.Run();
if (args is ["batch"])
    return BatchComparison.Run();
if (args is ["proofs"])
    return ProofComparison.Run();
if (args is ["pages"])
    return PageComparison.Run();
if (args is ["batch-units", .. var rest])
    return UnitComparison.Run(rest);
BenchmarkSwitcher.FromAssembly(typeof(CheckBenchmarks).Assembly)
    .Run(args, DefaultConfig.Instance.WithArtifactsPath(Path.Combine(CheckBenchmarks.Root(), "artifacts", "benchmarks")));
return 0;
